"""Where lines wrap on paper: the widths are the font's, and rows fit and are even."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from drillgen.core.options import PageSize
from drillgen.core.resources import read_table
from drillgen.write.breaks import CLOSER, make_wrapper, measure
from drillgen.write.fonts import FALLBACK, FILES, FRAME, font_folder
from drillgen.write.fonts import PLAIN as COMMON
from drillgen.write.rows import BOLD, BREVE, NUMBER, PLAIN, SOFT, TIE, UNDERLINED, Box, Setter

ALTERNATES = frozenset("I\u00a0")
"""Drawn otherwise: by the stylistic set of the sheet; as a space."""


@pytest.mark.parametrize(("file", "column"), [(FILES[0], 1), (FILES[2], 2)])
def test_the_widths_are_those_of_the_font_files(file: str, column: int) -> None:
    rows = read_table("pdf_widths.tsv")
    assert {chr(int(row[0], 16)) for row in rows} == {*COMMON, *FALLBACK, FRAME}
    with TTFont(font_folder() / file) as font:
        cmap, metrics = font.getBestCmap(), font["hmtx"]
        for row in rows:
            code = int(row[0], 16)
            if code in cmap and chr(code) not in ALTERNATES:
                assert int(row[column]) == metrics[cmap[code]][0], row


def test_pairs_of_letters_have_the_kerning_of_the_font_files() -> None:
    table = {
        (face, left + right): int(moved)
        for face, left, moved, rights in read_table("pdf_kerning.tsv")
        for right in rights
    }
    for face, file in (("0", FILES[0]), ("1", FILES[2])):
        with TTFont(font_folder() / file) as font:
            kerned = {
                pair: value
                for pair, value in _read_kerning(font).items()
                if set(pair) <= COMMON - ALTERNATES and not set(pair) & set("ff")
            }
        assert len(kerned) > 500
        wrong = {p: (v, table.get((face, p), 0)) for p, v in kerned.items()}
        assert not {p: both for p, both in wrong.items() if both[0] != both[1]}


def _read_kerning(font: TTFont) -> dict[str, int]:
    """Pairs of characters and what is added between them (OpenType GPOS, lookup type 2)."""
    names = {name: chr(code) for code, name in font.getBestCmap().items() if chr(code) in COMMON}
    gpos = font["GPOS"].table
    wanted = {
        index
        for record in gpos.FeatureList.FeatureRecord
        if record.FeatureTag == "kern"
        for index in record.Feature.LookupListIndex
    }
    found: dict[str, int] = {}
    for lookup in (gpos.LookupList.Lookup[index] for index in sorted(wanted)):
        tables = [getattr(table, "ExtSubTable", table) for table in lookup.SubTable]
        for left in names:
            for right in names:
                for table in tables:
                    if left not in table.Coverage.glyphs:
                        continue
                    value = _pair_value(table, left, right)
                    if value is not None:
                        if value:
                            found[names[left] + names[right]] = value
                        break
    return found


def _pair_value(table: Any, left: str, right: str) -> int | None:
    """What a subtable says of a pair; none where the next one is asked."""
    if table.Format == 1:
        pairs = table.PairSet[table.Coverage.glyphs.index(left)].PairValueRecord
        values = [pair.Value1.XAdvance for pair in pairs if pair.SecondGlyph == right]
        return values[0] if values else None
    first = table.ClassDef1.classDefs.get(left, 0)
    second = table.ClassDef2.classDefs.get(right, 0)
    value = table.Class1Record[first].Class2Record[second].Value1
    return getattr(value, "XAdvance", 0) if value else 0


WORDS = st.lists(st.text("aeimtw", min_size=1, max_size=12), min_size=1, max_size=30)


def widths_of(words: list[str], size: float) -> list[float]:
    return [measure(word) * size for word in words]


@given(WORDS, st.booleans())
def test_rows_fit_and_two_are_as_even_as_can_be(words: list[str], large: bool) -> None:
    wrapper = make_wrapper(PageSize.A4, large)
    widths = widths_of(words, wrapper.sizes.reading)
    starts = wrapper.wrap(words, widths)
    rows = list(pairwise([0, *starts, len(words)]))
    assert all(start < end for start, end in rows)
    assert all(not wrapper.wrap(words[a:b], widths[a:b]) for a, b in rows)
    assert (len(rows) == 1) == (not starts)


def test_two_rows_are_even() -> None:
    wrapper = make_wrapper(PageSize.A4, False)
    words = ["lighthouse"] * 9
    assert wrapper.wrap(words, widths_of(["leet-heess"] * 9, 15.8)) == [5]


def test_smaller_letters_need_no_more_rows() -> None:
    wrapper = make_wrapper(PageSize.LETTER, False)
    for count in range(1, 40):
        words = ["quay"] * count
        rows = [
            len(wrapper.wrap(words, widths_of(words, scale * 15.8), scale=scale))
            for scale in (1, CLOSER)
        ]
        assert rows[1] <= rows[0]


def test_a_name_stays_in_one_row() -> None:
    wrapper = make_wrapper(PageSize.A4, True)
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
    (start,) = wrapper.wrap(words, widths_of(words, 25))
    assert words[start] != "Quay"
    assert words[start - 1] not in ("the", "Pellow")


def test_an_original_stands_above_its_word() -> None:
    """The gaps of both lines of a row add up to the same places."""
    boxes = [
        Box("The", (("thee", BOLD),), weak=True),
        Box("windows,", (("we", PLAIN), ("en", BOLD)), linked=True),
        Box("are", (("eer", PLAIN),)),
        Box("Tomorrow", (("t", BOLD), ("ee", UNDERLINED), ("m", BOLD))),
        Box("£2.40", (("two ", PLAIN), ("feer", BOLD), ("-tee ", PLAIN), ("peens", BOLD))),
        Box("up", (("eep.", PLAIN),)),
    ]
    wrapper = make_wrapper(PageSize.A4, False)
    (row,) = Setter(wrapper, paired=True, ipa=False).set_lines([boxes], 7)
    above, place = {}, 0.0
    for gap, text in row.above:
        above[text] = place + gap
        place += gap + measure(text) * wrapper.sizes.above
    assert list(above) == [box.original for box in boxes]
    letters, place = [], 0.0
    size, space = wrapper.sizes.reading, wrapper.space(1)
    for gap, face, text in row.letters:
        place += gap
        if face == NUMBER:
            place += measure(text) * wrapper.sizes.small
        elif face == BREVE:
            place += measure(text) * 1.4 * wrapper.sizes.small
        elif face != TIE:
            for part in re.findall(r" |[^ ]+", text):
                if part != " ":
                    letters.append((part, place))
                place += space if part == " " else measure(part, face != PLAIN) * size
    begins = [
        place for part, place in letters if part in ("thee", "we", "eer", "teem", "two", "eep.")
    ]
    assert begins == pytest.approx(list(above.values()), abs=0.1)
    # The line stands under its letters, in a word that is bold as a whole.
    ((left, right),) = row.lines
    word = begins[3]
    assert left == pytest.approx(word + measure("t", bold=True) * size, abs=0.5)
    assert right == pytest.approx(word + measure("tee", bold=True) * size, abs=0.1)


def test_a_line_of_verse_wraps_behind_its_breaths() -> None:
    wrapper = make_wrapper(PageSize.A4, large=False)
    word, breath = Box("", (("mmmmmmmm", PLAIN),)), Box("", (("mmmmmmmm,", PLAIN), (" |", SOFT)))
    size = measure("mmmmmmmm ") * wrapper.sizes.reading
    some = int(wrapper.room / size / 2)
    line = [*[word] * some, breath, *[word] * (some - 1), breath, word, word]
    rows = Setter(wrapper, paired=False, ipa=False).set_lines([line], 1)
    assert [row.where for row in rows] == [0, 1, 1]
    assert [row.letters[-1][2] for row in rows[:-1]] == [" |", " |"]
    # A part that fits no row: it wraps as any line does.
    line = [*[word] * (2 * some + 1), breath, word]
    rows = Setter(wrapper, paired=False, ipa=False).set_lines([line], 1)
    assert rows[0].letters[-1][2].endswith("m")
