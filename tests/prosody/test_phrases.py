"""Phrases: a table of sentences, and what must hold for any text."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.values import Boundary, Phrase, Token, Tune
from drillgen.speech.prosody.phrases import MAX_WORDS, split_phrases
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.tokens import Tokenizer, tokenize

DATA = Path(__file__).parent / "data" / "phrases.tsv"
CASES = [
    tuple(line.replace("\\n", "\n").split("\t"))
    for line in DATA.read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]
BOUNDARIES = {Boundary.MAJOR: "||", Boundary.MINOR: "|", Boundary.NONE: "~"}
TUNES = {Tune.FALL: "\\", Tune.RISE: "/", Tune.LEVEL: "-"}
TOKENIZER = Tokenizer()
WORDS = ["the", "a", "boat", "tide", "of", "harbour", "gulls", "and", "sing", "over"]
LINES = [
    "The tide is out",
    ". ",
    ", ",
    "? ",
    "\n",
    "\n\n",
    " — ",
    "(",
    ") ",
    "… ",
    '"',
    "Dr. Reed ",
]


def read_phrases(tokens: tuple[Token, ...]) -> tuple[Phrase, ...]:
    return split_phrases(tokens, split_clauses(tokens))


def _text(phrase: Phrase) -> str:
    return "".join(token.text for token in phrase.tokens)


def _show(phrase: Phrase) -> str:
    return f"{_text(phrase).rstrip(' ')} {BOUNDARIES[phrase.boundary]}{TUNES[phrase.tune]}"


@pytest.mark.parametrize("case", CASES, ids=[case[0] for case in CASES])
def test_phrases(case: tuple[str, ...]) -> None:
    _, text, expected = case
    assert " ".join(map(_show, read_phrases(tokenize(text)))) == expected


def test_table_has_negatives() -> None:
    assert len(CASES) > 50
    assert sum(case[0].startswith("!") for case in CASES) > 15


@settings(max_examples=300, derandomize=True, deadline=None)
@given(
    st.text(max_size=60) | st.lists(st.sampled_from(LINES), max_size=40).map("".join),
)
def test_phrases_cover_all_tokens(text: str) -> None:
    tokens = TOKENIZER.tokenize(text)
    phrases = read_phrases(tokens)
    assert tuple(token for phrase in phrases for token in phrase.tokens) == tokens
    assert all(phrase.tokens for phrase in phrases)
    speaks = any(token.spoken for token in tokens)
    for phrase in phrases:
        assert any(token.spoken for token in phrase.tokens) or not speaks
    for left, right in itertools.pairwise(phrases):
        step = right.sentence - left.sentence
        assert step == (left.boundary is Boundary.MAJOR)
        assert right.paragraph - left.paragraph in ((0, 1) if step else (0,))
        assert (left.tune is Tune.LEVEL) == (left.boundary is Boundary.NONE)
    if phrases:
        assert phrases[0].sentence == phrases[0].paragraph == 0
        assert phrases[-1].boundary is Boundary.MAJOR


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.lists(st.sampled_from(WORDS), min_size=40))
def test_long_stretches_are_split(words: list[str]) -> None:
    """Nothing longer than twice a breath stays where a content word allows a break."""
    phrases = read_phrases(TOKENIZER.tokenize(" ".join(words)))
    for phrase in phrases:
        said = [token.text for token in phrase.tokens if token.spoken]
        content = {"boat", "tide", "harbour", "gulls", "sing"}
        free = [word for word in said[3:-4] if word in content]
        assert len(said) <= 2 * MAX_WORDS or not free


def test_paragraph_numbers() -> None:
    text = "One is here. Two is here.\n\nThree is there.\r\n\r\nFour is there."
    numbers = [(p.sentence, p.paragraph) for p in read_phrases(tokenize(text))]
    assert numbers == [(0, 0), (1, 0), (2, 1), (3, 2)]


def test_empty() -> None:
    assert read_phrases(()) == ()
    assert [_text(phrase) for phrase in read_phrases(tokenize(" \n "))] == [" \n "]


def test_sentence_boundaries_of_uax_29() -> None:
    """UAX #29, table 4 and the examples of section 5.1: SB6, SB7, SB8, SB9 to SB11, SB4."""
    for text, count in {
        "It is 3.4 long": 1,  # SB6: digits
        "the resp. leaders are here": 1,  # SB8: lower case after
        "He said “Go.” (He did.) We left.": 3,  # SB9, SB10: close marks and space
        "Is it so? yes": 2,  # STerm breaks before lower case too
        "one here\u2029two here": 2,  # SB4: paragraph separator
    }.items():
        phrases = read_phrases(tokenize(text))
        assert phrases[-1].sentence + 1 == count, text


def test_marks_that_open_stay_with_what_follows() -> None:
    phrases = read_phrases(tokenize("She smiled, “come in” (at last) and we did."))
    for phrase in phrases:
        assert not re.search(r"[“(]\s*$", _text(phrase))
