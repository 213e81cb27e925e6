"""Where lines wrap on paper: the widths are the font's, and rows fit and are even."""

from __future__ import annotations

from itertools import pairwise

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from drillgen.core.options import PageSize
from drillgen.core.resources import read_table
from drillgen.write.breaks import make_wrapper
from drillgen.write.fonts import FALLBACK, FILES, FRAME, PLAIN, font_folder

ALTERNATES = frozenset("I\u00a0")
"""Drawn otherwise: by the stylistic set of the sheet; as a space."""


@pytest.mark.parametrize(("file", "column"), [(FILES[0], 1), (FILES[2], 2)])
def test_the_widths_are_those_of_the_font_files(file: str, column: int) -> None:
    rows = read_table("pdf_widths.tsv")
    assert {chr(int(row[0], 16)) for row in rows} == {*PLAIN, *FALLBACK, FRAME}
    with TTFont(font_folder() / file) as font:
        cmap, metrics = font.getBestCmap(), font["hmtx"]
        for row in rows:
            code = int(row[0], 16)
            if code in cmap and chr(code) not in ALTERNATES:
                assert int(row[column]) == metrics[cmap[code]][0], row


WORDS = st.lists(st.text("aeimtw", min_size=1, max_size=12), min_size=1, max_size=30)


@given(WORDS, st.booleans())
def test_rows_fit_and_two_are_as_even_as_can_be(words: list[str], large: bool) -> None:
    wrapper = make_wrapper(PageSize.A4, large, bold=(1,), thin=())
    boxes = [(word, [(word, 0)], "", False) for word in words]

    def fits(part: list[tuple[str, list[tuple[str, int]], str, bool]]) -> bool:
        return not wrapper.wrap(part, paired=True, ipa=False)

    starts = wrapper.wrap(boxes, paired=True, ipa=False)
    rows = [boxes[a:b] for a, b in pairwise([0, *starts, len(boxes)])]
    assert all(rows)
    assert all(map(fits, rows))
    assert (len(rows) == 1) == fits(boxes)


def test_two_rows_are_even() -> None:
    wrapper = make_wrapper(PageSize.A4, False, bold=(), thin=())
    boxes = [("lighthouse", [("leet-heess", 0)], "", False)] * 9
    assert wrapper.wrap(boxes, paired=True, ipa=False) == [5]


def test_smaller_letters_need_no_more_rows() -> None:
    wrapper = make_wrapper(PageSize.LETTER, False, bold=(1,), thin=())
    for count in range(1, 40):
        boxes = [("quay", [("kee", 1)], "", True)] * count
        rows = [
            len(wrapper.wrap(boxes, paired=True, ipa=False, scale=scale)) for scale in (1, 0.92)
        ]
        assert rows[1] <= rows[0]


def test_a_name_stays_in_one_row() -> None:
    wrapper = make_wrapper(PageSize.A4, True, bold=(), thin=())
    words = [
        "The",
        "first",
        "ferry",
        "leaves",
        "Pellow",
        "Quay",
        "before",
        "the",
        "sun",
        "is",
        "up.",
    ]
    boxes = [(word, [(word, 0)], "", False) for word in words]
    (start,) = wrapper.wrap(boxes, paired=True, ipa=False)
    assert words[start] != "Quay"
    assert words[start - 1] not in ("the", "Pellow")
