"""Which vowels swap at each rung.

Every vowel of a text gets a level from 0 to 1; a rung swaps the vowels below
its threshold. Vowels that are the target already lie above: no rung
swaps them. Thresholds rise from rung to rung, so the sets nest. A strategy
puts its own vowels below one half and the rest above; within each half the
vowels nearest to the target come first.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from itertools import accumulate
from types import MappingProxyType
from typing import Final

from drillgen.core.accents import Accent, load_accent
from drillgen.core.formants import bark_distance
from drillgen.core.options import Strategy
from drillgen.core.phones import main_vowel, vowel_indexes
from drillgen.core.resources import read_table
from drillgen.core.values import Grade, Phones

HALF: Final = 0.5
FAR: Final = 0.7
"""Level from which a vowel is far from the target: about the last quarter of those that are
said, for FLEECE those of lot, thought, goat, foot, goose, price, mouth and choice."""

UNCHANGED: Final = 2.0
"""Level of a vowel that is the target already: above any threshold, even when halved."""


def load_function_words() -> frozenset[str]:
    """Articles, pronouns, prepositions, auxiliaries, conjunctions; lower case."""
    return frozenset(row[0] for row in read_table("swap_function_words.tsv"))


def load_vowel_shares() -> Mapping[str, float]:
    """Share of each vowel among the vowels of running English, summing to 1."""
    return MappingProxyType({row[0]: float(row[1]) for row in read_table("swap_shares.tsv")})


def load_set_shares() -> Mapping[str, Mapping[str, float]]:
    """Dictionary vowel → lexical set → its share of that vowel in running English."""
    found: dict[str, dict[str, float]] = {}
    for symbol, lexical_set, share in read_table("swap_set_shares.tsv"):
        found.setdefault(symbol, {})[lexical_set] = float(share)
    return MappingProxyType(found)


def share_vowels(
    accent: Accent, shares: Mapping[str, float], sets: Mapping[str, Mapping[str, float]]
) -> Mapping[str, float]:
    """Share of each vowel of an accent among the vowels of running English.

    `shares` are those of the dictionary's vowels, `sets` how each is spread over
    lexical sets.
    """
    own = dict.fromkeys(accent.vowels, 0.0)
    for symbol, share in shares.items():
        if symbol in accent.direct:
            own[accent.direct[symbol]] += share
            continue
        for lexical_set, part in sets[symbol].items():
            own[accent.sets[lexical_set]] += share * part
    return MappingProxyType(own)


def rank_vowels(target: str, accent: Accent | None = None) -> tuple[str, ...]:
    """The accent's vowels from the nearest to the target to the farthest, by Bark distance."""
    accent = accent or load_accent()
    distances = {symbol: bark_distance(symbol, target, accent) for symbol in accent.vowels}
    return tuple(sorted(distances, key=lambda symbol: (distances[symbol], symbol)))


def nearness_levels(
    target: str, shares: Mapping[str, float], accent: Accent | None = None
) -> Mapping[str, float]:
    """Level of each vowel by distance alone, spread so that a threshold t swaps
    about the share t of the vowels of running English that are not the target.

    A vowel's level is the middle of its stretch: it joins a rung once half of
    it would fit.
    """
    order = [symbol for symbol in rank_vowels(target, accent) if symbol != target]
    total = sum(shares[symbol] for symbol in order)
    ends = accumulate(shares[symbol] for symbol in order)
    levels = {
        symbol: min((end - shares[symbol] / 2) / total, 0.999)
        for symbol, end in zip(order, ends, strict=True)
    }
    return MappingProxyType({target: UNCHANGED} | levels)


def far_vowels(nearness: Mapping[str, float]) -> frozenset[str]:
    """The vowels to watch in the original words: those farthest from the target."""
    return frozenset(symbol for symbol, level in nearness.items() if FAR <= level < UNCHANGED)


def in_first_half(strategy: Strategy, *, stressed: bool, is_function: bool, ordinal: int) -> bool:
    """Whether a vowel is one that the strategy itself names.

    `stressed`: it is a beat or the nucleus of its phrase; `ordinal` is the number of its
    word in the text.
    """
    match strategy:
        case Strategy.STRESSED:
            return stressed
        case Strategy.UNSTRESSED:
            return not stressed
        case Strategy.CONTENT:
            return not is_function
        case Strategy.ALTERNATE:
            return ordinal % 2 == 0
        case Strategy.DISTANCE:
            raise ValueError("distance has no halves")


def level_vowels(
    phones: Phones,
    nearness: Mapping[str, float],
    strategy: Strategy,
    *,
    grade: Grade = Grade.BEAT,
    is_function: bool = False,
    ordinal: int = 0,
) -> tuple[float, ...]:
    """The level of each vowel of a word, in order, each at least 0; those that may change below 1.

    `grade` is how strongly the word is said: its main vowel is stressed unless that is none.
    """
    vowels = vowel_indexes(phones)
    if strategy is Strategy.DISTANCE:
        return tuple([nearness[phones[i].symbol] for i in vowels])
    main = None if grade is Grade.NONE else main_vowel(phones, vowels)
    beat, other = _halves(strategy, is_function, ordinal % 2)
    return tuple([nearness[phones[i].symbol] / 2 + (beat if i == main else other) for i in vowels])


@functools.cache
def _halves(strategy: Strategy, is_function: bool, ordinal: int) -> tuple[float, float]:
    """What is added to the level of a stressed vowel, and of another."""
    beat, other = (
        in_first_half(strategy, stressed=stressed, is_function=is_function, ordinal=ordinal)
        for stressed in (True, False)
    )
    return (0.0 if beat else HALF), (0.0 if other else HALF)


def rung_threshold(rung: int, rungs: int) -> float:
    """Threshold of a rung, counted from 1 of `rungs`: evenly spaced inside (0, 1).

    With one rung it is one half: just the vowels that the strategy names.
    """
    return rung / (rungs + 1)


def choose_vowels(phones: Phones, levels: tuple[float, ...], threshold: float) -> tuple[int, ...]:
    """Indexes of the vowels below the threshold, ascending."""
    levelled = zip(vowel_indexes(phones), levels, strict=True)
    return tuple([i for i, level in levelled if level < threshold])
