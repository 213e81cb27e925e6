"""A document as one static HTML page: to read on a screen, or to print from a browser.

The layout is templates/html/document.html.j2, with autoescape: all text is text. The page has
no script, and its policy lets nothing in and nothing out. The boxes can be ticked; a browser
forgets them when the page is closed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from markupsafe import Markup

from drillgen.core.document import LINK, WEAK, Block, Chart, Document, Section, paper_order
from drillgen.core.options import PageOptions
from drillgen.core.printable import squeeze
from drillgen.write.figure import draw_plot
from drillgen.write.templates import hash_source, load_templates, read_part

if TYPE_CHECKING:
    from jinja2 import Environment

_WHITES: Final = (0, 2, 4, 5, 7, 9, 11)
_BLACKS: Final = ((1, 1), (3, 2), (6, 4), (8, 5), (10, 6))
"""Semitone of a black key, and the white key on whose left edge it stands."""


class PianoKey(NamedTuple):
    """A key of the drawing; a white one is 10 wide and 40 high."""

    x: float
    black: bool
    marked: bool


def write_html(document: Document, page: PageOptions) -> str:
    """The whole document as one text. The same document gives the same text."""
    style = read_part("html/document.css")
    style += f"\n@page {{ size: {page.size}; margin: 17mm 20mm 19mm; }}"
    return (
        _load_templates()
        .get_template("document.html.j2")
        .render(
            document=document,
            blocks=paper_order(document.blocks),
            large=page.large,
            style=Markup(style),
            policy=f"default-src 'none'; style-src {hash_source(style)}; base-uri 'none'; "
            "form-action 'none'",
            link=LINK,
            weak=WEAK,
            keys=list_keys(document.pitch.midi) if document.pitch and document.pitch.drawn else (),
        )
    )


def _load_templates() -> Environment:
    templates = load_templates(
        "html",
        # Every printed text loses its control characters, whoever made it.
        finalize=lambda value: squeeze(value) if type(value) is str else value,
        keep_trailing_newline=True,
    )
    templates.filters["kind"] = lambda block: type(block).__name__.lower()
    templates.filters["pairs"] = pair_blocks
    templates.filters["plot"] = plot
    templates.filters["draw"] = lambda block: Markup(draw_plot(block))
    return templates


def pair_blocks(blocks: Iterable[Block]) -> Iterator[tuple[Block, ...]]:
    """Each block, together with the one that may stand beside it."""
    pair: tuple[Block, ...] = ()
    for block in blocks:
        beside: bool = getattr(block, "beside", False)
        if (
            beside
            and len(pair) == 1
            and isinstance(pair[0], Section) == isinstance(block, Section)
        ):
            yield (*pair, block)
            pair = ()
            continue
        if pair:
            yield pair
        pair = (block,)
    if pair:
        yield pair


def list_keys(midi: int) -> list[PianoKey]:
    """Two octaves of piano keys around a note, the white ones first."""
    first = max(0, 12 * ((midi - 6) // 12))
    octaves = [(first + 12 * octave, 70 * octave) for octave in range(2)]
    whites = [
        PianoKey(x + 10 * i, False, c + step == midi)
        for c, x in octaves
        for i, step in enumerate(_WHITES)
    ]
    blacks = [
        PianoKey(x + 10 * i - 3, True, c + step == midi) for c, x in octaves for step, i in _BLACKS
    ]
    return whites + blacks


def plot(chart: Chart, width: int = 400, height: int = 100) -> dict[str, Any]:
    """Places of a chart's dots and lines, in a box of `width` by `height` units."""
    gap = width / max(1, len(chart.points) - 1)
    start = 0 if len(chart.points) > 1 else width / 2
    dots = [
        (round(start + i * gap, 1), round(height * (1 - point.up / chart.top), 1), point)
        for i, point in enumerate(chart.points)
    ]
    return {
        "dots": dots,
        "path": " ".join(f"{x},{y}" for x, y, _ in dots),
        "levels": [(n, round(height * (1 - n / chart.top), 1)) for n in range(chart.top + 1)],
        "every": max(1, -(-len(dots) // 10)),
    }
