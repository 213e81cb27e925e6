"""A partial version is printed where it says something new."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.options import DrillOptions, Format
from drillgen.core.values import VersionKind, Worksheet
from drillgen.sheets.content import drop_idle_rungs, note_idle_rungs
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.write import render

PALM = "A calm father. The father's palm. A calm spa."
FLEECE = "The green sea is deep."


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


@pytest.mark.parametrize(
    ("text", "rungs", "headings"),
    [
        # PALM is the only stressed vowel: no rung parts it from itself.
        (PALM, 2, ["Partial swap"]),
        (PALM, 3, ["Partial swap, rung 2 of 2", "Partial swap, rung 1 of 2"]),
        # Every stressed vowel is FLEECE already.
        (FLEECE, 1, []),
    ],
)
def test_headings(engine: Engine, text: str, rungs: int, headings: list[str]) -> None:
    drill = make_drill(text, DrillOptions(rungs=rungs), engine=engine)
    (told,) = note_idle_rungs(drill)
    assert told.endswith(f"it has {len(headings) or ('none' if rungs == 1 else 0)}")
    page = render(lay_out_drills(Worksheet((drill,), "", None)), Format.MARKDOWN).decode()
    found = [line.lstrip("# ") for line in page.splitlines() if line.startswith("#")]
    assert [name for name in found if name.startswith("Partial")] == headings


@settings(max_examples=25, deadline=None)
@given(
    words=st.lists(st.sampled_from([*PALM.split(), *FLEECE.split()]), min_size=1, max_size=6),
    rungs=st.integers(1, 5),
)
def test_each_rung_swaps_less(engine: Engine, words: list[str], rungs: int) -> None:
    drill = make_drill(" ".join(words), DrillOptions(rungs=rungs), engine=engine)
    tidy = drop_idle_rungs(drill)
    partial = [v for v in tidy.versions if v.kind is VersionKind.PARTIAL]
    shares = [1.0, *(v.share for v in partial), 0.0]
    assert all(before > after for before, after in pairwise(shares))
    # What is gone is there once, in another version.
    assert {v.share for v in drill.versions} <= {*shares}
    assert bool(note_idle_rungs(drill)) == (len(partial) < rungs)
    if rungs > 1:
        assert [v.rung for v in partial] == [*range(len(partial), 0, -1)]
