"""What the fonts cover, read from the font files."""

from __future__ import annotations

import unicodedata

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st
from msgspec.json import encode

from drillgen.core.accents import list_accents, load_accent
from drillgen.core.phones import CONSONANTS
from drillgen.core.resources import read_table
from drillgen.write.fonts import (
    COVERAGE,
    FALLBACK,
    FILES,
    FRAME,
    PLAIN,
    UNUSUAL,
    describe_character,
    find_missing,
    font_folder,
    is_invisible,
)
from drillgen.write.pdf import _MERGES


@pytest.fixture(scope="module", params=FILES)
def covered(request: pytest.FixtureRequest) -> set[str]:
    with TTFont(font_folder() / request.param) as font:
        return set(map(chr, font.getBestCmap()))


def test_plain_characters_are_really_covered(covered: set[str]) -> None:
    assert covered >= PLAIN


def test_the_ipa_of_english_is_covered(covered: set[str]) -> None:
    """Of every accent: the sources stand in its profile."""
    vowels = [vowel for name in list_accents() for vowel in load_accent(name).vowels.values()]
    symbols = {c for v in vowels for c in v.ipa + v.weak + v.long + v.onset}
    symbols |= {c for ipa in CONSONANTS.values() for c in ipa} | set("ˈˌ.|‖‿")
    drawn = {part for symbol in symbols for part in _MERGES.get(symbol, symbol)}
    assert covered >= drawn


def test_the_fallback_is_needed(covered: set[str]) -> None:
    assert not FALLBACK & covered


def test_confusable_letters_have_different_shapes() -> None:
    """I, l and 1, and a and ɑ: different outlines, I by the serifed alternate of ss04."""
    with TTFont(font_folder() / FILES[0]) as font:
        cmap = font.getBestCmap()
        tables = font["GSUB"].table
        lookups = {
            index
            for record in tables.FeatureList.FeatureRecord
            if record.FeatureTag == "ss04"
            for index in record.Feature.LookupListIndex
        }
        swaps: dict[str, str] = {}
        for index in lookups:
            for table in tables.LookupList.Lookup[index].SubTable:
                swaps |= getattr(table, "ExtSubTable", table).mapping
        names = {c: swaps.get(cmap[ord(c)], cmap[ord(c)]) for c in "Il1aɑ|"}
        assert names["I"] != cmap[ord("I")]
        shapes = {
            c: tuple(font["glyf"][name].getCoordinates(font["glyf"])[0])
            for c, name in names.items()
        }
        assert len(set(shapes.values())) == len(shapes)


def test_the_table_of_covered_characters_is_that_of_the_files(covered: set[str]) -> None:
    rows = [(int(first, 16), int(last, 16)) for first, last in read_table(COVERAGE)]
    assert {chr(code) for first, last in rows for code in range(first, last + 1)} == covered


def test_missing_characters_are_found() -> None:
    assert find_missing("plain ‖ ↗ text") == ()
    assert find_missing("港 and ש, é") == ("ש", "港")


@pytest.mark.parametrize(
    ("character", "invisible"),
    [("\u200d", True), ("\ufe0f", True), ("\u00ad", True), ("a", False), ("\u0301", False)],
)
def test_invisible(character: str, invisible: bool) -> None:
    assert is_invisible(character) is invisible


def test_characters_are_named() -> None:
    assert describe_character("😀") == "U+1F600 GRINNING FACE"
    assert describe_character("\ue000") == "U+E000"


@given(st.text(st.sampled_from(sorted(PLAIN | FALLBACK | {FRAME, "\u200b"}))))
def test_usual_characters_are_composed_and_drawn(text: str) -> None:
    """Unicode Standard Annex 15: the text is in NFC; a look into the table is not needed."""
    assert not UNUSUAL.search(text.replace("\\", ""))
    assert unicodedata.is_normalized("NFC", text)
    assert not find_missing(set(text) - {"\u200b"})


@pytest.mark.parametrize("text", ["a\u0301", "ɝ", "\x07", "港", "\u200d", "\u202e"])
def test_other_characters_are_looked_at(text: str) -> None:
    assert UNUSUAL.search(encode(text).decode())
