"""Phrases: a table of sentences, and what must hold for any text."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drillgen.core.values import Boundary, Phrase, Token, Tune
from drillgen.speech.prosody.reader import Prosody
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.tokens import tokenize

DATA = Path(__file__).parent / "data" / "phrases.tsv"
CASES = [
    tuple(line.replace("\\n", "\n").split("\t"))
    for line in DATA.read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]
BOUNDARIES = {Boundary.MAJOR: "||", Boundary.MINOR: "|", Boundary.NONE: "~"}
TUNES = {Tune.FALL: "\\", Tune.RISE: "/", Tune.LEVEL: "-"}
PROSODY = Prosody.load()


def read_phrases(tokens: tuple[Token, ...]) -> tuple[Phrase, ...]:
    return PROSODY.read(tokens, split_clauses(tokens)).phrases


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
