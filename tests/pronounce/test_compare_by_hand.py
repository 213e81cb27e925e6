"""What the full swap leaves, and what speakers say either way."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillgen.core.phones import PHONE_TABLE, parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.compare import (
    main_stress,
    outline,
    same_after_swap,
    same_phones,
    swap_skeleton,
    vary_freely,
)

CASES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "compare_cases.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]
WORDS = st.lists(st.sampled_from(sorted(PHONE_TABLE.values(), key=str)), max_size=6).map(tuple)


@pytest.mark.parametrize(("one", "other", "free", "why"), CASES, ids=[row[3] for row in CASES])
def test_free_variation(one: str, other: str, free: str, why: str) -> None:
    a, b = parse_phones(one), parse_phones(other)
    assert why
    assert vary_freely(a, b) is vary_freely(b, a) is (free == "yes")


@given(WORDS, WORDS)
def test_what_is_the_same_varies(a: Phones, b: Phones) -> None:
    """Each comparison is reflexive and symmetric; the looser ones hold where a closer one does."""
    for same in (same_phones, same_after_swap, vary_freely):
        assert same(a, a)
        assert same(a, b) is same(b, a)
    if same_phones(a, b):
        assert same_after_swap(a, b)
    if same_after_swap(a, b, stress=True):
        assert same_after_swap(a, b)
        assert outline(a) == outline(b) or any(p.symbol in ("IY", "UW") for p in (*a, *b))
        assert vary_freely(a, b)


@pytest.mark.parametrize(
    ("said", "left", "outlined"),
    [
        ("B ER1 D", "B * R D", "B * R D"),
        ("B ER1 R D", "B * R D", "B * R D"),
        ("ER1 ER0 ER0 R", "* R * R * R", "* R * R * R"),
        ("D IY0 EY1 G OW0", "D * * G *", "D Y * G *"),
        ("D UW0 EY1 G OW0", "D * * G *", "D W * G *"),
        ("N IY0 UW0 EY1", "N * * *", "N Y * *"),
        ("N AA1 IY0 T IY0 AH0", "N * * T * *", "N * * T Y *"),
        ("IY0 EY1 IY0", "* * *", "* * *"),
        ("D IY0 G", "D * G", "D * G"),
    ],
)
def test_outlines(said: str, left: str, outlined: str) -> None:
    assert " ".join(swap_skeleton(parse_phones(said))) == left
    assert " ".join(outline(parse_phones(said))) == outlined


@pytest.mark.parametrize(
    ("a", "b", "same"),
    [
        ("K AE1 T", "K AE0 T", True),
        ("P ER1 M IH2 T", "P ER1 M IH1 T", True),
        ("P ER1 M IH2 T", "P ER0 M IH1 T", False),
        ("P ER0 M IH0 T", "P ER0 M IH1 T", False),
        ("P ER0 M IH0 T", "P ER2 M IH0 T", True),
        ("P ER1 M IH2 T", "P ER1 M IH2 D", False),
    ],
)
def test_stress(a: str, b: str, same: bool) -> None:
    """The first main stress, where there are two syllables or more."""
    assert same_after_swap(parse_phones(a), parse_phones(b), stress=True) is same


def test_same_phones_are_as_many() -> None:
    assert not same_phones(parse_phones("B IY1"), parse_phones("B IY1 T"))
    assert not same_phones(parse_phones("B IY1"), parse_phones("B EY1"))
    assert not same_phones(parse_phones("B IY1"), parse_phones("D IY1"))
    assert main_stress(parse_phones("B AH0 N AE1 N AH1")) == 1
