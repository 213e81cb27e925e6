"""A visitor of the page without a network: requests go straight to the application."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple

import httpx
import pytest
from starlette.applications import Starlette

from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.web.app import build_app
from drillgen.web.guard import Door
from drillgen.web.limits import Limits
from drillgen.web.workshop import Workshop

VOID = ("input", "meta", "link", "path", "circle")
SAME = {"sec-fetch-site": "same-origin"}


class Visitor:
    """Asks the application, one request at a time or several together."""

    def __init__(self, app: Starlette, base: str = "http://localhost:8737") -> None:
        self.app = app
        self.base = base
        self.runner = asyncio.Runner()

    def ask(
        self,
        method: str,
        path: str,
        fields: Mapping[str, str] | None = None,
        headers: Mapping[str, str] | None = None,
        content: bytes | AsyncIterator[bytes] | None = None,
    ) -> httpx.Response:
        """One request, as a browser sends it from the page itself."""

        async def one(client: httpx.AsyncClient) -> httpx.Response:
            return await client.request(
                method,
                path,
                data=fields,
                content=content,
                headers=SAME if headers is None else headers,
            )

        return self.together(one)[0]

    def get(self, path: str, **more: Any) -> httpx.Response:
        """GET."""
        return self.ask("GET", path, **more)

    def post(self, path: str, fields: Mapping[str, str], **more: Any) -> httpx.Response:
        """POST of a form."""
        return self.ask("POST", path, fields, **more)

    def together(
        self, *works: Callable[[httpx.AsyncClient], Awaitable[httpx.Response]]
    ) -> list[httpx.Response]:
        """Several requests at the same time."""

        async def go() -> list[httpx.Response]:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url=self.base) as client:
                return list(await asyncio.gather(*(work(client) for work in works)))

        return self.runner.run(go())


class Element(NamedTuple):
    """An open element."""

    tag: str
    classes: frozenset[str]
    number: int
    """Tells elements apart."""


class Outline(HTMLParser):
    """What a page holds: its elements, their attributes and texts."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.stack: list[Element] = []
        self.texts: list[tuple[tuple[Element, ...], str]] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the element; those without an end don't go on the stack."""
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            classes = frozenset((dict(attrs).get("class") or "").split())
            self.stack.append(Element(tag, classes, len(self.tags)))

    def handle_endtag(self, tag: str) -> None:
        """Elements must close in order."""
        if tag not in VOID:
            opened = self.stack.pop().tag
            assert opened == tag, f"<{opened}> is closed by </{tag}>"

    def handle_data(self, data: str) -> None:
        """Note the text and where it stands."""
        self.texts.append((tuple(self.stack), data))

    def inside(self, tag: str, name: str = "") -> list[str]:
        """The whole text of each element of that tag and class."""
        found: dict[int, str] = {}
        for path, text in self.texts:
            for element in path:
                if element.tag == tag and (not name or name in element.classes):
                    found[element.number] = found.get(element.number, "") + text
        return list(found.values())

    def shown_at(self, place: int) -> list[str]:
        """What is shown of each word at one place of the slider."""
        return self.inside("span", f"v{place}")


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    """The dictionary, read once."""
    return Lexicon.load()


@pytest.fixture(scope="session")
def outline() -> type[Outline]:
    """The parser, for modules that can't import this one."""
    return Outline


OpenPage = Callable[..., Visitor]


@pytest.fixture
def open_page(tmp_path: Path, lexicon: Lexicon) -> Iterator[OpenPage]:
    """Makes visitors of pages with a word list of their own."""
    made: list[Visitor] = []

    def make(*, limits: Limits | None = None, door: Door | None = None, base: str = "") -> Visitor:
        words = tmp_path / "own" / "words.txt"
        workshop = Workshop(words, lexicon=lexicon, limits=limits)
        app = build_app(words, workshop=workshop, door=door)
        visitor = Visitor(app, base or "http://localhost:8737")
        made.append(visitor)
        return visitor

    yield make
    for visitor in made:
        visitor.runner.close()


@pytest.fixture
def visitor(open_page: OpenPage) -> Visitor:
    """A visitor of an ordinary page on loopback."""
    return open_page()


@pytest.fixture
def words_file(tmp_path: Path) -> Path:
    """The word list of the pages of this test."""
    return tmp_path / "own" / "words.txt"
