"""The accent step: where /r/ is said."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.options import Accent
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.accent import (
    accent_word,
    apply_accent,
    needs_next,
    starts_with_vowel,
)
from drillgen.speech.pronounce.lexicon import Lexicon

DATA = Path(__file__).parent / "data"
CASES = [
    line.split("\t")
    for line in (DATA / "accent_cases.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


def _words(text: str) -> tuple[Phones, ...]:
    return tuple(parse_phones(word) for word in text.split("|"))


@pytest.mark.parametrize(("label", "words", "rhotic", "non_rhotic"), CASES)
def test_cases(label: str, words: str, rhotic: str, non_rhotic: str) -> None:
    assert apply_accent(_words(words), Accent.RHOTIC) == _words(rhotic), label
    assert apply_accent(_words(words), Accent.NON_RHOTIC) == _words(non_rhotic), label


def test_no_words() -> None:
    assert apply_accent((), Accent.RHOTIC) == ()
    assert apply_accent(((),), Accent.NON_RHOTIC) == ((),)


@pytest.fixture(scope="module")
def entries() -> list[Phones]:
    lexicon = Lexicon.load_raw()
    return [entry for word in lexicon.words() for entry in lexicon.entries(word)]


def _others(phones: Phones) -> list[str]:
    return [str(phone) for phone in phones if phone.symbol != "R"]


def test_whole_dictionary(entries: list[Phones]) -> None:
    assert len(entries) > 135_000
    for phones in entries:
        rhotic = accent_word(phones, Accent.RHOTIC, False)
        # Vowels, their stress, and all consonants but r stay.
        assert _others(rhotic) == _others(phones)
        # Every r is said: as many as written, and one for each ER without its own.
        bare = sum(
            a.symbol == "ER" and (b is None or b.symbol != "R")
            for a, b in zip(phones, (*phones[1:], None), strict=True)
        )
        assert sum(p.symbol == "R" for p in rhotic) == bare + sum(p.symbol == "R" for p in phones)
        assert accent_word(rhotic, Accent.RHOTIC, False) == rhotic
        assert accent_word(phones, Accent.RHOTIC, True) == rhotic


def test_whole_dictionary_non_rhotic(entries: list[Phones]) -> None:
    for phones in entries[::3]:
        pause = accent_word(phones, Accent.NON_RHOTIC, False)
        linked = accent_word(phones, Accent.NON_RHOTIC, True)
        assert _others(pause) == _others(linked) == _others(phones)
        # An r is said only before a vowel, or opens the word.
        for i, phone in enumerate(pause):
            if phone.symbol == "R" and i:
                assert i + 1 < len(pause)
                assert pause[i + 1].stress is not None
        assert (pause != linked) == needs_next(phones, Accent.NON_RHOTIC)
        if needs_next(phones, Accent.NON_RHOTIC):
            assert linked == (*pause, PHONE_TABLE["R"])
        assert not needs_next(phones, Accent.RHOTIC)
        assert accent_word(pause, Accent.NON_RHOTIC, False) == pause


@given(st.lists(st.lists(st.sampled_from(sorted(PHONE_TABLE)), max_size=6), max_size=5))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_phrases_are_words_with_their_neighbour(phrase: list[list[str]]) -> None:
    words = tuple(tuple(PHONE_TABLE[symbol] for symbol in word) for word in phrase)
    for accent in Accent:
        whole = apply_accent(words, accent)
        assert len(whole) == len(words)
        for i, word in enumerate(words):
            vowel = i + 1 < len(words) and starts_with_vowel(words[i + 1])
            assert whole[i] == accent_word(word, accent, vowel)
            if not needs_next(word, accent):
                assert whole[i] == accent_word(word, accent, not vowel), format_phones(word)
