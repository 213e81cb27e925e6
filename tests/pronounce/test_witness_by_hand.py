"""The second opinion on derived forms, with a witness that says what the case needs."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Origin, Phones, Pronunciation
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.witness import Witness


class Rules:
    """espeak-ng that says one thing."""

    def __init__(self, said: str) -> None:
        self.said = parse_phones(said) if said else None
        self.asked: list[str] = []

    def pronounce(self, word: str) -> Phones | None:
        self.asked.append(word)
        return self.said


def check(derived: Pronunciation, said: str) -> Pronunciation:
    return Witness(cast("Espeak", Rules(said))).check(derived)


UNKIND = Pronunciation(
    "unkind",
    parse_phones("AH2 N K AY1 N D"),
    Origin.DERIVED,
    0.97,
    (parse_phones("AH2 N K IH1 N D"),),
    "un- + kind",
)


@pytest.mark.parametrize(
    ("confidence", "agreed", "differing"),
    [
        (0.93, 0.974, 0.621),
        (0.9599, 0.974, 0.621),
        (0.96, 0.988, 0.733),
        (0.9799, 0.988, 0.733),
        (0.98, 0.992, 0.867),
        (0.9999, 0.992, 0.867),
    ],
)
def test_how_sure(confidence: float, agreed: float, differing: float) -> None:
    derived = replace(UNKIND, confidence=confidence)
    assert check(derived, "AA1 N K AH0 N D") == replace(derived, confidence=agreed)
    other = check(derived, "AH0 N K AY1 N T")
    assert other == replace(
        derived,
        confidence=differing,
        alternatives=(*UNKIND.alternatives, parse_phones("AH0 N K AY1 N T")),
    )


def test_a_word_of_our_table_is_sure() -> None:
    derived = replace(UNKIND, confidence=1.0)
    assert check(derived, "AH0 N K AY1 N T") == derived


@pytest.mark.parametrize(
    ("said", "other", "agree"),
    [
        # The velar nasal before k and g is an n; elsewhere it is not, nor is another sound.
        ("AH2 N K AY1", "AH0 NG K AY1", True),
        ("AH2 N G AY1", "AH0 NG G AY1", True),
        ("AH2 N T AY1", "AH0 NG T AY1", False),
        ("S IH1 N", "S IH1 NG", False),
        ("AH2 M K AY1", "AH0 NG K AY1", False),
        ("AH2 NG K AY1", "AH0 NG K AY1", True),
    ],
)
def test_nasals(said: str, other: str, agree: bool) -> None:
    derived = replace(UNKIND, phones=parse_phones(said), alternatives=())
    assert (check(derived, other).confidence > 0.9) is agree


def test_what_is_on_offer_is_there_once() -> None:
    said = format_phones(replace(UNKIND, phones=parse_phones("AH2 N K IH1 N")).phones)
    listed = replace(UNKIND, alternatives=(parse_phones(said),))
    assert check(listed, said).alternatives == listed.alternatives


def test_words_that_it_says_nothing_of() -> None:
    assert check(UNKIND, "") is UNKIND
    drawn = replace(UNKIND, note="unkind, drawn out")
    assert check(drawn, "AH0 N") is drawn
    rules = Rules("AH0 N")
    Witness(cast("Espeak", rules)).check(UNKIND)
    assert rules.asked == ["unkind"]
