"""The accent step: where /r/ is said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.accents import Accent, list_accents, load_accent
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Phones
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.accent import (
    accent_word,
    needs_next,
    starts_with_vowel,
)
from drillgen.speech.pronounce.homographs import HomographModel
from drillgen.speech.pronounce.lexicon import Lexicon

DATA = Path(__file__).parent / "data"
CASES = [
    line.split("\t")
    for line in (DATA / "accent_cases.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


ACCENTS = [load_accent(name) for name in list_accents()]
AMERICAN, BRITISH = load_accent("rhotic"), load_accent("non-rhotic")


def _words(text: str) -> tuple[Phones, ...]:
    return tuple(parse_phones(word) for word in text.split("|"))


def apply_accent(words: Sequence[Phones], accent: Accent) -> tuple[Phones, ...]:
    """The words of one phrase in the accent; a linking r stays with the first word."""
    following = [*map(starts_with_vowel, words[1:]), False]
    # No words: no pairs, though the list of what follows is never empty.
    return tuple(
        accent_word(phones, accent, vowel) for phones, vowel in zip(words, following, strict=False)
    )


def _shape(words: tuple[Phones, ...]) -> list[list[str]]:
    """Consonants, and the stress of vowels: what the r rule is about."""
    return [[p.symbol if p.stress is None else str(p.stress) for p in word] for word in words]


@pytest.mark.parametrize(("label", "words", "rhotic", "non_rhotic"), CASES)
def test_cases(label: str, words: str, rhotic: str, non_rhotic: str) -> None:
    assert apply_accent(_words(words), AMERICAN) == _words(rhotic), label
    for accent in ACCENTS:
        wanted = _words(rhotic if accent.rhotic else non_rhotic)
        assert _shape(apply_accent(_words(words), accent)) == _shape(wanted), label


def test_linking_r_is_the_profile_s_choice() -> None:
    """Issue: an accent without a word on linking must lose it knowingly."""
    far, away, idea = (_words(w)[0] for w in ("F AA1 R", "AH0 W EY1", "AY0 D IY1 AH0"))
    without = replace(BRITISH, linking_r=False)
    assert format_phones(apply_accent((far, away), without)[0]) == "F AA1"
    assert not needs_next(far, without)
    intruding = replace(BRITISH, intrusive_r=frozenset({"AH", "AO"}))
    assert format_phones(apply_accent((idea, away), intruding)[0]) == "AY0 D IY1 AH0 R"
    assert format_phones(apply_accent((idea,), intruding)[0]) == "AY0 D IY1 AH0"
    assert needs_next(idea, intruding)


def test_no_words() -> None:
    assert apply_accent((), AMERICAN) == ()
    assert apply_accent(((),), BRITISH) == ((),)


@pytest.fixture(scope="module")
def entries() -> list[Phones]:
    lexicon = Lexicon.load_raw()
    return [entry for word in lexicon.words() for entry in lexicon.entries(word)]


def _others(phones: Phones) -> list[str]:
    """Consonants but r, and the stress of each vowel."""
    return [
        str(p.stress) if p.is_vowel else p.symbol for p in phones if p.is_vowel or p.symbol != "R"
    ]


def test_whole_dictionary(entries: list[Phones]) -> None:
    assert len(entries) > 135_000
    for phones in entries:
        rhotic = accent_word(phones, AMERICAN, False)
        # Vowels, their stress, and all consonants but r stay.
        assert [p for p in rhotic if p.symbol != "R"] == [p for p in phones if p.symbol != "R"]
        # Every r is said: as many as written, and one for each ER without its own.
        bare = sum(
            a.symbol == "ER" and (b is None or b.symbol != "R")
            for a, b in zip(phones, (*phones[1:], None), strict=True)
        )
        assert sum(p.symbol == "R" for p in rhotic) == bare + sum(p.symbol == "R" for p in phones)
        assert accent_word(rhotic, AMERICAN, False) == rhotic
        assert accent_word(phones, AMERICAN, True) == rhotic


@pytest.mark.parametrize("accent", ACCENTS, ids=lambda accent: accent.name)
def test_whole_dictionary_in_every_accent(accent: Accent, entries: list[Phones]) -> None:
    for phones in entries[::5]:
        pause = accent_word(phones, accent, False)
        linked = accent_word(phones, accent, True)
        assert _others(pause) == _others(linked) == _others(phones)
        assert all(p.symbol in accent.vowels for p in pause if p.is_vowel)
        # An r is said before a vowel only, or opens the word.
        for i, phone in enumerate(pause):
            if phone.symbol == "R" and i and not accent.rhotic:
                assert i + 1 < len(pause)
                assert pause[i + 1].stress is not None
        assert (pause != linked) == needs_next(phones, accent)
        if needs_next(phones, accent):
            assert linked == (*pause, PHONE_TABLE["R"])
            assert accent.linking_r


@given(st.lists(st.lists(st.sampled_from(sorted(PHONE_TABLE)), max_size=6), max_size=5))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_phrases_are_words_with_their_neighbour(phrase: list[list[str]]) -> None:
    words = tuple(tuple(PHONE_TABLE[symbol] for symbol in word) for word in phrase)
    for accent in ACCENTS:
        whole = apply_accent(words, accent)
        assert len(whole) == len(words)
        for i, word in enumerate(words):
            vowel = i + 1 < len(words) and starts_with_vowel(words[i + 1])
            assert whole[i] == accent_word(word, accent, vowel)
            if not needs_next(word, accent):
                assert whole[i] == accent_word(word, accent, not vowel), format_phones(word)


WORDS = [
    line.split("\t")
    for line in (DATA / "accent_words.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(
    ("column", "name"), [(1, "non-rhotic"), (2, "australian"), (3, "scottish")]
)
def test_words(column: int, name: str) -> None:
    """Vowels, yods and words of their own, through the whole engine; sources in the table."""
    engine = Engine.load(accent=name)
    wrong = [
        (row[0], ours, row[column])
        for row in WORDS
        for ours in [
            "/".join(to_ipa(word.phones, engine.accent) for word in reading)
            for _, reading in engine.pronounce(row[0])
        ]
        if ours != row[column]
    ]
    assert not wrong
    assert len(WORDS) > 120


SENTENCES = [
    line.split("\t")
    for line in (DATA / "british_sentences.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


def test_british_homographs_in_sentences() -> None:
    """Which reading context chooses is one thing, how an accent says it another."""
    engine = Engine.load(accent="non-rhotic")
    wrong = [
        (sentence, ours, ipa)
        for sentence, word, ipa in SENTENCES
        for token, reading in engine.pronounce(sentence)
        for ours in [to_ipa(p.phones, engine.accent) for p in reading]
        if token.text == word and ours != ipa
    ]
    assert not wrong
    assert len(SENTENCES) > 10


def test_readings_of_homographs_are_american_ones() -> None:
    """A row for a reading that the model does not give would never be read."""
    model = HomographModel.load()
    rows = read_table("british_readings.tsv")
    assert len({row[:2] for row in rows}) == len(rows) > 30
    for word, american, said, source, _ in rows:
        assert parse_phones(american) in [r.phones for r in model.readings(word)], word
        assert any(phone.stress == 1 for phone in parse_phones(said))
        assert source == "LPD"
