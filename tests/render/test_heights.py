"""The heights that the layout knows beforehand are those of what it sets."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from typing import Any

import pypdf
import pytest
from msgspec.json import encode
from msgspec.structs import replace as replace_struct
from sheet_factory import make_sheet, render_pdf

from drillgen.core.document import Section
from drillgen.core.options import DrillOptions, PageOptions, PageSize
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Pitch, Worksheet
from drillgen.corpus.reader import load_default_passage
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.pipeline import make_drill
from drillgen.write import pdf
from drillgen.write.breaks import LARGE, NORMAL
from drillgen.write.fit import Fit, Head, Look, Ruler, Sentence, Spot, fit_log, fit_version
from drillgen.write.rows import PLAIN, STRONG, count_lines

TEXT = "Robin sold three old lamps at the fair. Nobody knew the price of the last one. " * 5

PROBE = b"""#import "document.typ": *
#show: setup
#metadata(("", ""))<said>
#let data = json(bytes(read("data").slice(2)))
#let heights = json("heights")
#let same(name, real, more: 0pt) = {
  let known = heights.at(name) * 1pt
  assert(known > real - 0.1pt and known < real + more + 0.1pt, message: repr((name, known, real)))
}
#let height-of(it) = measure(it, width: width).height
#context {
  let (pitch, title, wide, blocks) = data
  // The room below a heading is less than what a version has above it.
  let more = if big { 40pt } else { 0.1pt }
  same("title", height-of({ head(title, wide, pitch); if pitch == none { v(0pt) } }), more: more)
  for (i, b) in blocks.enumerate() {
    if b.log { for count in (0, 3) { same("log " + str(count), height-of(log-rows(b, count))) } }
    if b.placed { same(b.title, height-of(version-head(b))) }
    if b.foot and "height" in b {
      let feet = blocks.slice(i, lesser(i + 2, blocks.len())).filter(it => it.foot)
      same("foot " + str(i), height-of(foot-box(feet, show-blocks)), more: 1.2 * small)
    }
  }
}
"""


@pytest.mark.parametrize("size", PageSize)
@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize(
    ("title", "pitch"),
    [
        ("Lamps", parse_pitch("G3")),
        ("Lamps", None),
        ("What was sold at the fair by the river", parse_pitch("A3")),
        ("All that was sold at the fair by the river, " * 3, parse_pitch("A3")),
        ("All that was sold at the fair by the river, " * 3, None),
    ],
)
def test_heights(
    monkeypatch: pytest.MonkeyPatch, size: PageSize, large: bool, title: str, pitch: Pitch | None
) -> None:
    """Not less, and not a line more: the typesetter itself compares them, and stops if not."""
    sheet = replace(make_sheet(TEXT, title=title), pitch=pitch, repetitions=12)
    heads: list[float] = []

    def note_head(ruler: Any, head: Any, *rest: Any) -> Any:
        heads.append(head.height)
        return fit_version(ruler, head, *rest)

    monkeypatch.setattr("drillgen.write.pdf.fit_version", note_head)
    page = PageOptions(size, large)
    data: dict[str, Any] = pdf.build(lay_out_drills(sheet), page)
    ruler = Ruler(LARGE if large else NORMAL, size, large)
    placed = [block["title"] for block in data["blocks"] if block["placed"]]
    assert len(placed) == 3
    builder = pdf._Builder(page, few=True)
    top = builder.measure_title(data["title"], lay_out_drills(sheet).pitch, wide=data["wide"])
    assert top
    heights = {
        "title": top.y,
        "log 0": ruler.log(0),
        "log 3": ruler.log(3),
        **dict(zip(placed, heads, strict=True)),
    }
    for number, block in enumerate(data["blocks"]):
        if block["foot"] and "height" in block:
            heights[f"foot {number}"] = block["height"] - (0 if large else 1.4 * ruler.unit)
    given = {"main": PROBE, "data": b"//" + encode(data), "heights": encode(heights)}
    given["settings"] = encode({name: data[name] for name in ("size", "large", "print", "fit")})
    pdf.load_typesetter()._compiler.compile(given, format="svg")


@pytest.mark.parametrize(
    ("runs", "room", "lines"),
    [
        ([("", PLAIN)], 100, 1),
        ([("one two", PLAIN)], 100, 1),
        ([("one two", PLAIN)], 25, 2),
        ([("one ", STRONG), ("two three", PLAIN)], 25, 3),
        ([("on", STRONG), ("e", PLAIN), (" two", PLAIN)], 25, 2),
        ([("n" * 40, PLAIN)], 100, 3),
        ([("n n", PLAIN)], 12, 2),
        ([("n n", PLAIN)], 13, 1),
    ],
)
def test_running_text_breaks_at_spaces(
    runs: list[tuple[str, int]], room: float, lines: int
) -> None:
    assert count_lines(runs, 10, room) == lines


RULER = Ruler(NORMAL, PageSize.A4, False)


def fit(rows: int, y: float = 30, foot: float = 0, log: int | None = None) -> tuple[Fit, Spot]:
    readings = [(Look(paired=True, ipa=False), [Sentence(opens=False, rows=2, lines=1)] * rows)]
    return fit_version(
        RULER, Head(40, True, (foot,) if foot else (), log), readings, list, Spot(y)
    )


def test_a_version_is_set_closer_only_where_that_keeps_it_on_its_page() -> None:
    """The room of a page of A4 is 297 mm less margins of 28 mm (ISO 216)."""
    assert RULER.room == pytest.approx(762.5, abs=0.1)
    states = {rows: fit(rows)[0] for rows in range(1, 14)}
    assert states[1] == Fit(whole=True)
    assert not states[13].whole
    slacks = [state.slack for state in states.values() if state.whole]
    assert slacks == sorted(slacks, reverse=True)
    assert 0.12 <= slacks[-1] < 1
    for rows, state in states.items():
        end = fit(rows)[1]
        assert end.y <= RULER.room
        if state.slack < 1:
            assert end.y == pytest.approx(RULER.room, abs=2)


def test_a_version_begins_a_page_rather_than_part_on_the_lower_half() -> None:
    assert fit(8, y=500)[0] == Fit(breaks=True, whole=True)
    assert not fit(8, y=100, foot=200)[0].breaks
    state, end = fit(8, y=500, foot=100)
    assert state.breaks
    assert end.foot == 100
    # Nothing is gained where it is longer than a page.
    state, end = fit(16, y=500)
    assert state == Fit()
    assert 0 < end.y < RULER.room


@pytest.mark.parametrize(
    ("y", "alone", "rows", "breaks"),
    [
        (30, True, 12, False),
        (600, True, 4, False),
        (650, True, 31, True),
        (650, False, None, False),
    ],
)
def test_a_log_takes_the_room_that_there_is(
    y: float, alone: bool, rows: int | None, breaks: bool
) -> None:
    got = fit_log(RULER, 6, Spot(y), alone=alone)
    assert got == (rows, breaks)
    assert RULER.log(rows or 0) + (0 if breaks else y) <= RULER.room


def test_a_heading_over_a_version_begins_the_page_with_it() -> None:
    sheet = make_sheet(TEXT * 2)
    document = lay_out_drills(sheet)
    versions = document.blocks[0], document.blocks[0]
    chapters = tuple(Section(f"Part {n}", (version,)) for n, version in enumerate(versions))
    parts = pdf.build(replace_struct(document, blocks=chapters), PageOptions())["blocks"]
    assert [part["breaks"] for part in parts] == [False, True]
    assert all(part["blocks"][0]["placed"] for part in parts)
    assert not any(part["blocks"][0]["breaks"] for part in parts)


@pytest.mark.parametrize("words", [30, 55, 80])
@pytest.mark.parametrize("size", PageSize)
def test_a_log_is_never_parted(size: PageSize, words: int) -> None:
    """In large print heights add up over many pages: the header of a log in parts comes again."""
    text = " ".join((TEXT * 2).split()[:words])
    sheet = replace(make_sheet(text), pitch=None)
    reader = pypdf.PdfReader(BytesIO(render_pdf(sheet, PageOptions(size, large=True))))
    pages = [" ".join(page.extract_text().split()) for page in reader.pages]
    assert sum("Difference felt" in page for page in pages) == 1


@pytest.mark.parametrize("words", [90, 132, 160])
@pytest.mark.parametrize("size", PageSize)
def test_the_heading_of_a_log_is_on_its_page(size: PageSize, words: int) -> None:
    """The sentences that go to the page of the log go together."""
    passage = load_default_passage().text.split() * 2
    sheet = Worksheet(
        (make_drill(" ".join(passage[:words]), DrillOptions(rungs=0)),), "Quay", None
    )
    reader = pypdf.PdfReader(BytesIO(render_pdf(sheet, PageOptions(size, large=True))))
    page = next(page for page in reader.pages if "Practice log" in page.extract_text())
    assert "Difference felt" in " ".join(page.extract_text().split())


@pytest.mark.parametrize(("repetitions", "below"), [(3, False), (12, True)])
def test_boxes_stand_beside_their_heading_where_both_have_room(
    repetitions: int, below: bool
) -> None:
    document = lay_out_drills(make_sheet(TEXT, repetitions=repetitions))
    for large in (False, True):
        data = pdf.build(document, PageOptions(PageSize.A4, large))
        full = next(block for block in data["blocks"] if block.get("ticks"))
        assert full["below"] is (large and below)


def test_a_version_is_not_squeezed_where_the_log_goes_on_anyway() -> None:
    passage = load_default_passage().text.split() * 2
    parted = 0
    for words in range(60, 180, 12):
        drill = make_drill(" ".join(passage[:words]), DrillOptions(rungs=0))
        document = lay_out_drills(Worksheet((drill,), "Quay", None))
        *_, version, log = pdf.build(document, PageOptions(PageSize.A4, large=True))["blocks"]
        if log["rows"] is None:
            parted += 1
            assert version["slack"] == 1
    assert parted
