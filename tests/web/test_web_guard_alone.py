"""The guard around a small application: every answer, word for word."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from drillgen.web.forms import TooLargeError
from drillgen.web.guard import (
    COOKIE,
    HEADERS,
    Door,
    Guard,
    describe_fault,
    is_own_request,
    read_body,
)
from drillgen.web.limits import Limits

Headers = Mapping[str, str]
OPEN = Door("0.0.0.0", "open-sesame")


def make_scope(
    headers: Headers | None = None, method: str = "GET", path: str = "/", query: str = ""
) -> dict[str, Any]:
    raw = [(k.lower().encode(), v.encode("latin-1")) for k, v in (headers or {}).items()]
    more = {"path": path, "query_string": query.encode(), "scheme": "http", "server": None}
    return {"type": "http", "method": method, "headers": raw, **more}


def make_request(headers: Headers | None = None, *chunks: bytes, wait: float = 0.0) -> Request:
    waiting = [*chunks]

    async def receive() -> dict[str, Any]:
        await asyncio.sleep(wait)
        body = waiting.pop(0) if waiting else b""
        return {"type": "http.request", "body": body, "more_body": bool(waiting)}

    return Request(make_scope(headers), receive)


def refuse(request: Request, status: int, why: str) -> Response:
    return PlainTextResponse(f"{request.method} {why}", status)


async def hello(scope: Any, receive: Any, send: Any) -> None:
    headers = {"X-Frame-Options": "DENY", "cache-control": "max-age=1"}
    await PlainTextResponse("hello", headers=headers)(scope, receive, send)


def ask(
    scope: dict[str, Any], door: Door | None = None, app: Callable[..., Any] = hello
) -> list[dict[str, Any]]:
    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(dict(message))

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    guard = Guard(app, door=door or Door(), refuse=refuse)
    asyncio.run(guard(scope, receive, send))
    return sent


def answer_of(sent: list[dict[str, Any]]) -> tuple[int, str]:
    return sent[0]["status"], b"".join(m.get("body", b"") for m in sent[1:]).decode()


def test_a_door_to_the_network_has_a_token() -> None:
    with pytest.raises(ValueError, match=r"^a door to the network needs a token$"):
        Door("0.0.0.0")
    assert (Door().host, Door().token) == ("", "")
    assert Door(token="only").host == ""


@pytest.mark.parametrize(
    ("door", "host", "known"),
    [
        (Door(), "localhost", True),
        (Door(), "LocalHost:8737", True),
        (Door(), "127.0.0.1:80", True),
        (Door(), "[::1]", True),
        (Door(), "[::1]:8737", True),
        (Door(), "[::2]:8737", False),
        (Door(), "evil.example", False),
        (Door(), "localhost.evil.example", False),
        (Door(), "192.168.1.20", False),
        (Door(), "", False),
        (OPEN, "localhost", True),
        (OPEN, "192.168.1.20:8737", True),
        (OPEN, "[fe80::1]:8737", True),
        (OPEN, "evil.example", False),
        (OPEN, "", False),
        (Door("Desk.local", "t"), "desk.LOCAL:8737", True),
        (Door("Desk.local", "t"), "other.local", False),
    ],
)
def test_names_of_the_server(door: Door, host: str, known: bool) -> None:
    assert door.knows_name(host) is known


@pytest.mark.parametrize(
    ("headers", "opened"),
    [
        ({}, False),
        ({"cookie": f"{COOKIE}=open-sesame"}, True),
        ({"cookie": f"a=b; {COOKIE}=open-sesame"}, True),
        ({"cookie": f"{COOKIE}=open"}, False),
        ({"cookie": "other=open-sesame"}, False),
        ({"cookie": "\x00=;;="}, False),
        ({"authorization": "Bearer open-sesame"}, True),
        ({"authorization": "open-sesame"}, True),
        ({"authorization": "Bearer other"}, False),
        ({"authorization": "Basic open-sesame"}, False),
        ({"cookie": f"{COOKIE}=wrong", "authorization": "Bearer open-sesame"}, True),
    ],
)
def test_the_token(headers: Headers, opened: bool) -> None:
    assert OPEN.is_open_to(make_request(headers)) is opened
    assert Door().is_open_to(make_request(headers))


@pytest.mark.parametrize(
    ("headers", "own"),
    [
        ({"sec-fetch-site": "same-origin"}, True),
        ({"sec-fetch-site": "same-site"}, False),
        ({"sec-fetch-site": "none"}, False),
        # Fetch Metadata stands above Origin.
        ({"sec-fetch-site": "cross-site", "origin": "http://a:1", "host": "a:1"}, False),
        ({"origin": "http://Desk:8737", "host": "desk:8737"}, True),
        ({"origin": "http://desk:8737", "host": "DESK:8737"}, True),
        ({"origin": "https://desk:8737", "host": "desk:8737"}, False),
        ({"origin": "http://evil.example", "host": "desk:8737"}, False),
        ({"origin": "null", "host": "desk:8737"}, False),
        ({"host": "desk:8737"}, False),
        ({"origin": "http://"}, True),
        ({}, False),
    ],
)
def test_requests_of_the_page_itself(headers: Headers, own: bool) -> None:
    assert is_own_request(make_request(headers)) is own


def body_of(request: Request, limits: Limits, most: int | None = None) -> bytes:
    return asyncio.run(read_body(request, limits, most))


def test_the_body_is_read_up_to_the_limit() -> None:
    limits = Limits(body=2_000_000)
    assert body_of(make_request({}, b"ab", b"", b"c"), limits) == b"abc"
    assert len(body_of(make_request({}, b"a" * 2_000_000), limits)) == 2_000_000
    assert body_of(make_request({"content-length": "2000000"}, b"a"), limits) == b"a"
    assert body_of(make_request({"content-length": "many"}, b"a"), limits) == b"a"
    assert body_of(make_request({}, b"abc"), limits, 3) == b"abc"
    why = "^the request is larger than 2 MB; shorten the text$"
    with pytest.raises(TooLargeError, match=why):
        body_of(make_request({}, b"a" * 2_000_000, b"b"), limits)
    with pytest.raises(TooLargeError, match=why):
        body_of(make_request({"content-length": "2000001"}, b"a"), limits)
    with pytest.raises(TooLargeError, match="than 0 MB"):
        body_of(make_request({}, b"abcd"), limits, 3)


def test_a_slow_body_is_given_up() -> None:
    with pytest.raises(TimeoutError):
        body_of(make_request({}, b"a", b"b", wait=5.0), Limits(read_time=0.02))


LOCAL = {"host": "localhost:8737"}
NEAR = {"host": "192.168.1.20:8737"}
SHOWN = {**NEAR, "authorization": "Bearer open-sesame"}
WRONG_NAME = (421, "GET This address is not drillgen’s. Use the one that was printed.")
WRONG_METHOD = "This page only answers GET and POST."
NO_TOKEN = "Open the whole address that drillgen printed, with its token."
FOREIGN = (403, "POST This came from another site. Open drillgen’s own page.")
HELLO = (200, "hello")


@pytest.mark.parametrize(
    ("door", "scope", "expected"),
    [
        (Door(), make_scope(LOCAL), HELLO),
        (Door(), make_scope(LOCAL, "HEAD"), HELLO),
        (Door(), make_scope({"host": "evil.example"}), WRONG_NAME),
        (Door(), make_scope(), WRONG_NAME),
        (Door(), make_scope(LOCAL, "PUT"), (405, f"PUT {WRONG_METHOD}")),
        (Door(), make_scope(LOCAL, "POST"), FOREIGN),
        (Door(), make_scope({**LOCAL, "sec-fetch-site": "same-origin"}, "POST"), HELLO),
        (OPEN, make_scope(NEAR), (403, f"GET {NO_TOKEN}")),
        (OPEN, make_scope(SHOWN), HELLO),
        (OPEN, make_scope(SHOWN, path="/other"), HELLO),
        # The entry: the application itself looks at the token in the address.
        (OPEN, make_scope(NEAR, query="token=x"), HELLO),
        (OPEN, make_scope(NEAR, query="x=token"), (403, f"GET {NO_TOKEN}")),
        (OPEN, make_scope(NEAR, path="/a", query="token=x"), (403, f"GET {NO_TOKEN}")),
        (OPEN, make_scope(NEAR, "POST", query="token=x"), (403, f"POST {NO_TOKEN}")),
        (OPEN, make_scope(SHOWN, "POST"), FOREIGN),
    ],
)
def test_who_is_let_in(door: Door, scope: dict[str, Any], expected: tuple[int, str]) -> None:
    assert answer_of(ask(scope, door)) == expected


@pytest.mark.parametrize(
    ("door", "scope", "policy"),
    [
        (Door(), make_scope(LOCAL), "no-referrer"),
        (Door(), make_scope(), "no-referrer"),
        (OPEN, make_scope(SHOWN), "same-origin"),
        (OPEN, make_scope(NEAR), "same-origin"),
    ],
)
def test_headers_of_every_answer(door: Door, scope: dict[str, Any], policy: str) -> None:
    sent = ask(scope, door)
    headers = [(name.decode(), value.decode()) for name, value in sent[0]["headers"]]
    assert len(headers) == len({name for name, _ in headers})
    found = dict(headers)
    assert found["referrer-policy"] == policy
    own = {name.lower(): value for name, value in HEADERS.items()}
    if sent[0]["status"] == 200:
        # What the application says stays.
        assert found["x-frame-options"] == "DENY"
        own["cache-control"] = "max-age=1"
    assert {name: found[name] for name in own} == own
    assert all("headers" not in message for message in sent[1:])


def test_the_life_cycle_passes_and_sockets_do_not() -> None:
    seen: list[Any] = []

    async def note(scope: Any, receive: Any, send: Any) -> None:
        seen.append((scope["type"], await receive()))
        await send({"type": "lifespan.startup.complete"})

    sent = ask({"type": "lifespan"}, app=note)
    assert sent == [{"type": "lifespan.startup.complete"}]
    assert [kind for kind, _ in seen] == ["lifespan"]
    assert ask({"type": "websocket"}, app=note) == []
    assert len(seen) == 1


def test_the_application_hears_and_answers() -> None:
    async def echo(scope: Any, receive: Any, send: Any) -> None:
        heard = await Request(scope, receive).body()
        await PlainTextResponse(f"heard {len(heard)}")(scope, receive, send)

    assert answer_of(ask(make_scope(LOCAL), app=echo)) == (200, "heard 0")


async def fail(*_: Any) -> None:
    raise KeyError("the text of a client")


async def break_off(_scope: Any, _receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    raise RuntimeError("the text of a client")


def test_a_fault_is_told_without_its_message(capsys: pytest.CaptureFixture[str]) -> None:
    sent = ask(make_scope(LOCAL), app=fail)
    assert answer_of(sent) == (500, "GET That went wrong inside drillgen. Sorry.")
    assert b"no-referrer" in dict(sent[0]["headers"]).values()
    said = capsys.readouterr()
    line = fail.__code__.co_firstlineno + 1
    assert said.err == f"drillgen: KeyError in test_web_guard_alone.py, line {line}\n"
    assert said.out == ""


def test_an_answer_that_has_begun_breaks_off(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ConnectionError, match=r"^the answer broke off$") as caught:
        ask(make_scope(LOCAL), app=break_off)
    assert caught.value.__suppress_context__
    assert "RuntimeError in test_web_guard_alone.py" in capsys.readouterr().err


def test_the_place_of_a_fault_is_the_innermost() -> None:
    def inner() -> None:
        raise OSError("secret")

    def outer() -> None:
        inner()

    with pytest.raises(OSError, match="secret") as caught:
        outer()
    line = inner.__code__.co_firstlineno + 1
    assert describe_fault(caught.value) == f"OSError in test_web_guard_alone.py, line {line}"


def test_the_folders_of_a_fault_are_not_told() -> None:
    with pytest.raises(ZeroDivisionError) as caught:
        exec(compile("1 / 0", "C:\\Users\\robin\\part.py", "exec"), {})
    assert describe_fault(caught.value) == "ZeroDivisionError in part.py, line 1"
