"""The heights that the layout knows beforehand are those of what it sets."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from msgspec.json import encode
from sheet_factory import make_sheet

from drillgen.core.options import PageOptions, PageSize
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Pitch
from drillgen.sheets.drill import lay_out_drills
from drillgen.write import pdf
from drillgen.write.rows import PLAIN, STRONG, count_lines

TEXT = "Robin sold three old lamps at the fair. Nobody knew the price of the last one. " * 5

PROBE = b"""#import "document.typ": *
#show: setup
#metadata(("", ""))<said>
#let data = json(bytes(read("data").slice(2)))
#let same(known, real, more: 0pt) = assert(
  known > real - 0.1pt and known < real + more + 0.1pt, message: repr((known, real)))
#context {
  let (pitch, title, wide, blocks) = data
  let lines = if title.len() < 10 { 0pt } else { 1.28 * h1 }
  same(head-height(data), height-of({ head(title, wide, pitch); mark([]) }), more: lines)
  for (i, b) in blocks.enumerate() {
    if is-log(b) {
      for count in (0, 3) {
        same(log-height(count), height-of(log-rows(b, count)))
      }
    } else if b.fit { same(version-head-height(b), height-of(version-head(b))) }
    let feet = blocks.slice(i + 1, lesser(i + 3, blocks.len())).filter(it => it.foot)
    if b.fit and feet.len() > 0 {
      let under = if big { 0pt } else { 1.4 * unit }
      same(foot-height(feet) - under, height-of(foot-box(feet, show-blocks)), more: 1.6 * small)
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
def test_heights(size: PageSize, large: bool, title: str, pitch: Pitch | None) -> None:
    """Not less, and not a line more: the typesetter itself compares them, and stops if not."""
    sheet = replace(make_sheet(TEXT, title=title), pitch=pitch, repetitions=12)
    data: dict[str, Any] = pdf.build(lay_out_drills(sheet), PageOptions(size, large))
    given = {"main": PROBE, "data": b"//" + encode(data)}
    given["settings"] = encode({name: data[name] for name in ("size", "large", "print", "fit")})
    assert data["fit"]
    assert sum(block["fit"] for block in data["blocks"]) == 3
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
