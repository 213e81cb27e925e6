"""Plain text: aligned rows within the width, stress in capitals."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_factory import PASSAGE, make_drill, make_sheet, render_text

from drillgen.core.document import Span, Vowel
from drillgen.core.values import Grade
from drillgen.write.columns import pack_columns, width_of
from drillgen.write.plain import (
    WIDTH,
    capitalize_stress,
    format_grid,
    underline_marks,
)


@pytest.mark.parametrize("width", [64, WIDTH, 100])
def test_no_line_is_wider_than_asked(width: int) -> None:
    text = render_text(make_sheet(show_ipa=True), width)
    assert max(map(width_of, text.splitlines())) <= width
    assert not any(line != line.rstrip() for line in text.splitlines())


def test_words_stand_above_their_respelling() -> None:
    lines = render_text(make_sheet()).splitlines()
    row = next(i for i, line in enumerate(lines) if line.startswith("1.  The"))
    assert lines[row].index("harbour") == lines[row + 1].index("HEER-bee")
    assert lines[row].index("wakes") == lines[row + 1].index("WEEKS")
    assert lines[row + 1].endswith("↘TEEN.")


def test_marked_vowels_have_a_mark_below() -> None:
    text = render_text(make_sheet("Who buys loaf?"))
    lines = text[text.index("Original words") :].splitlines()
    row = next(i for i, line in enumerate(lines) if line.startswith("1.  "))
    assert lines[row] == "1.  Who  buys  loaf?"
    assert lines[row + 1] == "      ^   ^^    ^^"


def test_capitals_and_marks() -> None:
    spans = [
        Span("b", Grade.BEAT),
        Span("ee", Grade.BEAT, Vowel.SWAPPED),
        Span("-t"),
        Span("ee", vowel=Vowel.WATCHED),
    ]
    assert capitalize_stress(spans) == "BEE-tee"
    assert underline_marks(spans) == " ^^  ^^"
    assert underline_marks(spans[:1]) == ""


@pytest.mark.parametrize(
    ("text", "cells"),
    # Unicode Standard Annex 11: wide ideographs two cells; combining marks none.
    [("quay", 4), ("港の", 4), ("e\u0301", 1), ("", 0), ("ɪʊ", 2)],
)
def test_width(text: str, cells: int) -> None:
    assert width_of(text) == cells


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.lists(st.tuples(st.text("ab", max_size=12), st.text("ab", max_size=12))))
def test_packing_keeps_all_columns_in_order(columns: list[tuple[str, str]]) -> None:
    bands = list(pack_columns(columns, 30))
    assert [column for band in bands for column in band] == columns
    for band in bands:
        assert len(band) == 1 or sum(max(map(len, c)) + 2 for c in band) <= 30


def test_the_last_band_is_no_word_alone() -> None:
    columns = [("word",)] * 7
    assert [len(band) for band in pack_columns(columns, 36)] == [4, 3]


def test_long_cells_fold() -> None:
    grid = format_grid(("Word", "Why"), [("quay", "a reason " * 20)], 40)
    assert max(map(len, grid.splitlines())) <= 40


def test_marks_over_letters_take_no_room_in_a_cell() -> None:
    """Unicode Standard Annex 11: combining marks have no width of their own."""
    name = "Ade\u0301ba\u0301yo\u0323\u0300-Whitcombe"
    grid = format_grid(("Word", "Why"), [(name, f"said by {name} herself, " * 9)], 60)
    lines = grid.splitlines()
    assert lines[2].startswith(f"{name}  said by")
    assert grid.count(name) == 10
    assert max(map(width_of, lines)) <= 60


def test_the_text_stands_whole_and_several_drills_keep_their_titles() -> None:
    sheet = make_sheet()
    drills = (make_drill(title="First"), make_drill("Quay.", title="Second"))
    text = render_text(replace(sheet, drills=drills))
    # The original words are the plain text; rows of ^ and numbers of sentences part it.
    plain = " ".join(re.sub(r"(?m)^[ ^]+$|^\d+\.", "", text).split())
    assert plain.count(" ".join(PASSAGE.split())) == 1
    assert "First\n=====" in text
    assert "First, sentence 1" in " ".join(text.split())
    assert text.index("Second\n") > text.index("First\n")


def test_control_characters_stay_out() -> None:
    text = render_text(make_sheet("Quay\x1b[31m\x00 \u202eabc", title="A\x07B"))
    assert not {"\x1b", "\x00", "\x07", "\u202e"} & set(text)
