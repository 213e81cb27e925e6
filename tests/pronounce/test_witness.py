"""The second opinion on derived forms."""

from __future__ import annotations

import pytest

from drillgen.core.phones import parse_phones
from drillgen.core.values import Origin, Pronunciation
from drillgen.speech.pronounce.engine import needs_review
from drillgen.speech.pronounce.witness import CHANCES, Witness


@pytest.fixture(scope="module")
def witness() -> Witness:
    return Witness.load()


def derived(word: str, phones: str, confidence: float = 0.97) -> Pronunciation:
    return Pronunciation(word, parse_phones(phones), Origin.DERIVED, confidence)


def test_the_table_covers_every_confidence() -> None:
    assert [row[0] for row in CHANCES] == sorted(row[0] for row in CHANCES)
    assert CHANCES[-1][0] > 1
    assert all(agreed > differing for _, agreed, differing in CHANCES)


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("boatlike", "B OW1 T L AY2 K"),
        # espeak-ng writes the velar nasal; the prefix keeps its n in careful speech.
        ("unkindly", "AH2 N K AY1 N D L IY0"),
    ],
)
def test_agreement_is_sure(witness: Witness, word: str, phones: str) -> None:
    checked = witness.check(derived(word, phones))
    assert checked.confidence > 0.97
    assert not needs_review(checked)
    assert checked.alternatives == ()


def test_a_different_reading_is_for_the_teacher(witness: Witness) -> None:
    """ "Hothead" is no "hoth" with an ending."""
    checked = witness.check(derived("hothead", "HH AA1 TH AH0 D"))
    assert needs_review(checked)
    assert [str(p) for p in checked.alternatives[0]][:1] == ["HH"]


def test_without_espeak_nothing_changes() -> None:
    one = derived("hothead", "HH AA1 TH AH0 D")
    assert Witness(None).check(one) is one
