"""Who is let in, how much is taken, and what every answer says."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import pytest

from drillgen.web.guard import COOKIE, HEADERS, Door
from drillgen.web.limits import Limits

DATA = Path(__file__).parent / "data" / "guard.tsv"
CASES = [
    line.split("\t")
    for line in DATA.read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]
DOORS = {"loopback": Door(), "network": Door("0.0.0.0", "open-sesame")}
OpenPage = Callable[..., Any]


def test_table_has_both_answers() -> None:
    assert {case[-1] for case in CASES} >= {"200", "403", "405", "421"}


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case[0]))
def test_who_is_let_in(case: list[str], open_page: OpenPage) -> None:
    _, door, method, host, origin, site, token, status = case
    headers = {"host": "" if host == "-" else host}
    if origin != "-":
        headers["origin"] = origin
    if site != "-":
        headers["sec-fetch-site"] = site
    if token.startswith("Bearer"):
        headers["authorization"] = token
    elif token != "-":
        headers["cookie"] = f"other=1; {COOKIE}={token}"
    visitor = open_page(door=DOORS[door])
    fields = {"text": "The tide turns."} if method == "POST" else None
    answer = visitor.ask(method, "/preview" if fields else "/", fields, headers=headers)
    assert answer.status_code == int(status), answer.text
    # Whatever the answer, it carries the protections.
    assert set(map(str.lower, HEADERS)) <= set(answer.headers)
    assert ("thee" in answer.text) == (status == "200")


def test_first_visit_turns_the_token_into_a_cookie(open_page: OpenPage) -> None:
    visitor = open_page(door=DOORS["network"], base="http://192.168.1.20:8737")
    first = visitor.get("/?token=open-sesame", headers={})
    assert first.status_code == 200
    cookie = first.headers["set-cookie"]
    assert cookie.startswith(f"{COOKIE}=open-sesame; ")
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert "open-sesame" not in first.text
    again = visitor.get("/", headers={"cookie": cookie.split(";")[0]})
    assert again.status_code == 200
    assert visitor.get("/?token=guess", headers={}).status_code == 403
    assert visitor.get("/text?token=open-sesame", headers={}).status_code == 403


def test_a_door_to_the_network_needs_a_token() -> None:
    with pytest.raises(ValueError, match="token"):
        Door("0.0.0.0")


def test_no_cookie_without_token(visitor: Any) -> None:
    for answer in (visitor.get("/"), visitor.get("/?token=x"), visitor.post("/", {"text": "x"})):
        assert answer.status_code == 200
        assert "set-cookie" not in answer.headers


def test_headers(visitor: Any, open_page: OpenPage) -> None:
    answer = visitor.get("/")
    policy = answer.headers["content-security-policy"]
    # Content Security Policy Level 3: no inline script or style, nothing from outside.
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "frame-ancestors 'none'" in policy
    assert "base-uri 'none'" in policy
    assert "form-action 'self'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["cross-origin-opener-policy"] == "same-origin"
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert answer.headers["cache-control"] == "no-store"
    assert "server" not in answer.headers
    # Under no-referrer, forms beyond loopback would lose their origin (Fetch, "append a
    # request Origin header").
    network = open_page(door=DOORS["network"])
    assert network.get("/", headers={}).headers["referrer-policy"] == "same-origin"


def test_page_has_nothing_inline_and_nothing_from_outside(visitor: Any, outline: Any) -> None:
    page = outline(visitor.get("/").text)
    names = {name for _, name, _ in page.attributes}
    assert not {name for name in names if name.startswith("on") or name == "style"}
    assert "style" not in page.tags
    scripts = [value for tag, name, value in page.attributes if (tag, name) == ("script", "src")]
    assert scripts == ["/page.js"]
    assert page.tags.count("script") == 1
    for _, name, value in page.attributes:
        if name in ("src", "href", "action", "formaction"):
            assert value.startswith(("/", "#")), value
            assert not value.startswith("//")


# Sizes and times


def test_too_many_words(visitor: Any) -> None:
    answer = visitor.post("/preview", {"text": "tide " * 20_001})
    assert answer.status_code == 413
    assert "20,001 words; give 20,000 at most" in answer.text
    assert visitor.post("/preview", {"text": "tide " * 2_500}).status_code == 200


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"text": "a" * 200_001}, "200,001 characters"),
        ({"text": "b " + "a" * 61}, "a word of 61 letters"),
        ({"text": "a'" * 31}, "a word of 61 letters"),
        ({"text": "9" * 1001}, "1,001 characters without a space"),
        ({"text": "! ? " * 51}, "204 marks without a word"),
        ({"text": "x", "title": "t" * 201}, "the title"),
        ({"text": "x", "pitch": "9" * 500}, "pitch is longer"),
    ],
    ids=["text", "word", "apostrophes", "stretch", "marks", "title", "other field"],
)
def test_too_long(visitor: Any, fields: dict[str, str], says: str) -> None:
    answer = visitor.post("/preview", fields)
    assert answer.status_code == 413
    assert says.lower() in answer.text.lower()


def test_too_many_fields(visitor: Any) -> None:
    answer = visitor.post("/preview", {f"f{i}": "" for i in range(100)})
    assert answer.status_code == 422
    assert "form can’t be read" in answer.text or "form can&#39;t be read" in answer.text


def test_body_is_capped_whatever_it_declares(open_page: OpenPage) -> None:
    visitor = open_page(limits=Limits(body=1_000_000))
    taken = 0

    async def endless() -> AsyncIterator[bytes]:
        nonlocal taken
        yield b"text="
        while True:
            taken += 65_536
            yield b"a" * 65_536

    headers = {
        "sec-fetch-site": "same-origin",
        "content-type": "application/x-www-form-urlencoded",
    }
    answer = visitor.ask("POST", "/preview", headers=headers, content=endless())
    assert answer.status_code == 413
    assert taken < 1_300_000
    declared = {**headers, "content-length": "99000000"}
    answer = visitor.ask("POST", "/preview", headers=declared, content=b"text=a")
    assert answer.status_code == 413


def test_slow_body_is_given_up(open_page: OpenPage) -> None:
    visitor = open_page(limits=Limits(read_time=0.2))

    async def dripping() -> AsyncIterator[bytes]:
        for _ in range(100):
            yield b"t"
            await asyncio.sleep(0.1)

    headers = {
        "sec-fetch-site": "same-origin",
        "content-type": "application/x-www-form-urlencoded",
    }
    answer = visitor.ask("POST", "/preview", headers=headers, content=dripping())
    assert answer.status_code == 408


@pytest.mark.parametrize("kind", ["application/json", "text/plain", "multipart/form-data", ""])
def test_only_forms_are_read(visitor: Any, kind: str) -> None:
    headers = {"sec-fetch-site": "same-origin", "content-type": kind}
    answer = visitor.ask("POST", "/preview", headers=headers, content=b'{"text": "x"}')
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "path",
    [
        "/../pyproject.toml",
        "/..%2f..%2fetc%2fpasswd",
        "/page.css/../../../etc/passwd",
        "/%2e%2e/page.css.bak",
        "//etc/passwd",
        "/page.css%00.txt",
        "/base.html.j2",
        "/static/page.css",
    ],
)
def test_no_path_reaches_the_files(visitor: Any, path: str) -> None:
    answer = visitor.get(path)
    assert answer.status_code == 404
    assert "root:" not in answer.text
    assert "etc/passwd" not in answer.text


@pytest.mark.parametrize(
    "path", ["/page.css", "/page.js", "/mark.svg", "/regular.otf", "/bold.otf"]
)
def test_files_of_the_page(visitor: Any, path: str) -> None:
    answer = visitor.get(path)
    assert answer.status_code == 200
    assert answer.content
