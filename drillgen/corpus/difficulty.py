"""How hard a sentence is to read under the swap, computed from its phonemes.

Eight parts are measured, each on a scale of its own; a part gives half of its
weight at its `half` value and nears the whole of it beyond (1 - 2^(-value/half)),
so that no part can drown the others and more is always harder. The weights,
and why they are as they are: docs/difficulty.md.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.accents import Accent, load_accent
from drillgen.core.errors import OptionError
from drillgen.core.formants import bark_distance
from drillgen.core.phones import Vowel, vowel_indexes
from drillgen.core.resources import load_frequencies
from drillgen.core.syllables import Syllable, syllabify
from drillgen.core.values import Phones

PULLS: Final = MappingProxyType({"W": 1.0, "R": 0.75, "SH": 0.5, "ZH": 0.5, "CH": 0.5, "JH": 0.5})
"""Consonants that round the lips or draw the tongue back: /w/ does both."""

DARK_L: Final = 0.75
"""/l/ after the vowel of its syllable: the back of the tongue rises (velarised)."""

UNSTRESSED: Final = 0.5
"""An unstressed vowel is short and central already: it moves half as far."""

KEPT_ROUNDING: Final = 0.5
"""A rounded vowel that stays: nothing to unlearn, but the lips leave the posture."""

COMMON_ZIPF: Final = 5.0
"""A word at or above this Zipf frequency (once in 10,000 words) is known at sight."""

UNKNOWN_ZIPF: Final = 1.5
"""Zipf frequency of a word that is not in the table."""

STEP_LIMITS: Final = (33.0, 40.0)
"""Totals from which a sentence is of step 2, and of step 3: about thirds of running English."""

MEMORY: Final = 100_000
"""Words whose loads a scorer remembers."""

NAMED_WORDS: Final = 3


class ScoredWord(NamedTuple):
    """A spoken word of the sentence."""

    word: str
    """Lower case."""

    phones: Phones
    """Before the swap, in the drill's accent."""

    swapped: tuple[int, ...]
    """Indexes of the vowels that are swapped."""

    phrase_end: bool = False
    """Whether a breath is taken after it. The last word ends a phrase anyway."""


@dataclass(frozen=True, slots=True)
class Part:
    """One cause of difficulty."""

    name: str
    value: float
    """As measured, in `unit`."""

    weight: float
    """The most points that it can give."""

    unit: str
    explanation: str
    """What it is, and the words that have most of it."""

    points: float = 0.0
    """What it gives to the total, 0 to `weight`."""


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How hard a sentence is."""

    total: float
    """0 to 100: the sum of the parts' points."""

    parts: tuple[Part, ...]
    step: int
    """1, 2 or 3."""


class WordLoad(NamedTuple):
    """What one word adds to each part. It depends on the word alone, so it can be kept."""

    word: str
    syllables: int
    beats: float
    """Syllables, an unstressed one as UNSTRESSED."""

    travel: float
    """Bark, by stress."""

    rounding: float
    pulls: float
    back: float
    hiatus: float
    """Places inside the word."""

    clusters: float
    rarity: float
    """Zipf units below COMMON_ZIPF."""

    opening: int
    """-1: begins with a consonant. A vowel: 0 kept, 1 swapped."""

    closing: int
    """The same for its end."""


def measure_travel(word: ScoredWord, distances: Mapping[str, float]) -> float:
    """Distance from the swapped vowels to the target, in Bark, by stress."""
    return sum(_beat(word, i) * distances[word.phones[i].symbol] for i in word.swapped)


def measure_rounding(word: ScoredWord, target: str, vowels: Mapping[str, Vowel]) -> float:
    """Vowels whose lips are not those of the target."""
    lips = vowels[target].rounded
    return sum(
        _beat(word, i) * (1.0 if i in word.swapped else KEPT_ROUNDING)
        for i in vowel_indexes(word.phones)
        if vowels[word.phones[i].symbol].rounded != lips
    )


def measure_pulls(word: ScoredWord, syllables: Sequence[Syllable]) -> float:
    """Consonants that round the lips or draw the tongue back."""
    total = sum(PULLS.get(phone.symbol, 0.0) for phone in word.phones)
    for syllable in syllables:
        for phone in word.phones[syllable.nucleus + 1 : syllable.end]:
            if phone.symbol == "L":
                total += DARK_L
    return total


def measure_back(word: ScoredWord, vowels: Mapping[str, Vowel]) -> float:
    """Stressed back vowels that are swapped."""
    swapped = [word.phones[i] for i in word.swapped]
    return float(sum(bool(v.stress) and vowels[v.symbol].back for v in swapped))


def measure_hiatus(word: ScoredWord) -> float:
    """Places inside the word where a swapped vowel meets a vowel.

    Two swapped vowels are one vowel said twice: a whole place. One swapped
    vowel beside a kept one: half a place.
    """
    vowels = vowel_indexes(word.phones)
    meetings = [(i, j) for i, j in itertools.pairwise(vowels) if j == i + 1]
    return sum((i in word.swapped) + (j in word.swapped) for i, j in meetings) / 2


def measure_clusters(syllables: Sequence[Syllable]) -> float:
    """Consonants beyond one at the start or end of a syllable."""
    return float(
        sum(max(s.nucleus - s.start - 1, 0) + max(s.end - s.nucleus - 2, 0) for s in syllables)
    )


def _beat(word: ScoredWord, i: int) -> float:
    return 1.0 if word.phones[i].stress else UNSTRESSED


class PartRule(NamedTuple):
    """How a part is weighed."""

    name: str
    weight: float
    half: float
    """The value that gives half of the weight, in `unit`."""

    unit: str
    meaning: str


PART_RULES: Final = (
    PartRule("travel", 24, 3.5, "Bark", "how far the vowels are from the target"),
    PartRule("rounding", 10, 0.35, "per syllable", "vowels with other lips than the target"),
    PartRule("pulls", 16, 0.45, "per syllable", "w, r, sh, zh, ch, j and dark l"),
    PartRule("back", 8, 3.0, "vowels", "stressed back vowels"),
    PartRule("hiatus", 10, 1.5, "places", "vowels that meet"),
    PartRule("clusters", 10, 0.5, "per syllable", "consonants in a row"),
    PartRule("breath", 12, 12.0, "syllables", "the longest breath phrase"),
    PartRule("rarity", 10, 1.2, "Zipf units", "words that are seldom read"),
)
"""The parts in the order of the table; the weights sum to 100."""


@dataclass(frozen=True, slots=True)
class Scorer:
    """What scoring needs to know, loaded once, and the loads of the words met so far."""

    target: str
    """ARPAbet symbol."""

    distances: Mapping[str, float]
    """Bark from each vowel to the target."""

    frequencies: Mapping[str, float]
    vowels: Mapping[str, Vowel]
    """Those of the accent."""

    _known: dict[str, tuple[Phones, tuple[int, ...], WordLoad]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @classmethod
    def load(
        cls,
        target: str = "IY",
        frequencies: Mapping[str, float] | None = None,
        accent: Accent | None = None,
    ) -> Scorer:
        """A scorer for a target vowel of an accent. OptionError if it is no vowel."""
        accent = accent or load_accent()
        if target not in accent.vowels:
            choices = ", ".join(sorted(accent.vowels))
            raise OptionError(f"target {target!r} is no vowel", f"choose one of: {choices}")
        distances = {symbol: bark_distance(symbol, target, accent) for symbol in accent.vowels}
        known = load_frequencies() if frequencies is None else frequencies
        return cls(target, distances, known, dict(accent.vowels))

    def find_zipf(self, word: str) -> float:
        """Zipf frequency of a word; a possessive counts as its word, a letter as known."""
        if len(word) == 2 and word[1] == ".":
            return COMMON_ZIPF
        found = self.frequencies.get(word)
        if found is None:
            found = self.frequencies.get(word.removesuffix("'s").removesuffix("'"))
        return UNKNOWN_ZIPF if found is None else found

    def weigh_word(self, word: ScoredWord) -> WordLoad:
        """What a word adds to each part; remembered while its reading is the same."""
        known = self._known.get(word.word)
        if known and known[0] is word.phones and known[1] == word.swapped:
            return known[2]
        phones = word.phones
        syllables = syllabify(phones)
        vowels = [syllable.nucleus for syllable in syllables]
        load = WordLoad(
            word=word.word,
            syllables=len(syllables),
            beats=sum(_beat(word, i) for i in vowels),
            travel=measure_travel(word, self.distances),
            rounding=measure_rounding(word, self.target, self.vowels),
            pulls=measure_pulls(word, syllables),
            back=measure_back(word, self.vowels),
            hiatus=measure_hiatus(word),
            clusters=measure_clusters(syllables),
            # A word that is not respelled is read as it always was.
            rarity=max(0.0, COMMON_ZIPF - self.find_zipf(word.word)) if word.swapped else 0.0,
            opening=int(0 in word.swapped) if 0 in vowels else -1,
            closing=int(len(phones) - 1 in word.swapped) if len(phones) - 1 in vowels else -1,
        )
        if len(self._known) < MEMORY:
            self._known[word.word] = (phones, word.swapped, load)
        return load


def find_step(total: float) -> int:
    """The step, 1 to 3, of a total."""
    return 1 + sum(total >= limit for limit in STEP_LIMITS)


def score_words(words: Sequence[ScoredWord], scorer: Scorer | None = None) -> Difficulty:
    """Measure and weigh the parts for the spoken words of one sentence.

    `scorer` holds the target and the word frequencies; load it once for many
    sentences. No words: a total of 0.

    >>> from drillgen.core.phones import parse_phones
    >>> scorer = Scorer.load("IY", {"you": 7.0, "know": 6.0, "he": 7.0, "sits": 4.5})
    >>> near = ScoredWord("sits", parse_phones("S IH1 T S"), (1,))
    >>> far = ScoredWord("know", parse_phones("N OW1"), (1,))
    >>> score_words([near], scorer).total < score_words([far], scorer).total
    True
    """
    scorer = scorer or Scorer.load()
    loads = [scorer.weigh_word(word) for word in words]
    joints = count_joints(words, loads)
    values = measure_parts(words, loads, joints)
    points = weigh_parts(values)
    # How the longest breath comes about no single word tells.
    shares = {rule.name: [getattr(load, rule.name, 0.0) for load in loads] for rule in PART_RULES}
    shares["hiatus"] = [load.hiatus + joint for load, joint in zip(loads, joints, strict=True)]
    parts = tuple(
        Part(
            rule.name,
            value,
            rule.weight,
            rule.unit,
            _explain(rule.meaning, loads, shares[rule.name]),
            point,
        )
        for rule, value, point in zip(PART_RULES, values, points, strict=True)
    )
    total = sum(points)
    return Difficulty(total, parts, find_step(total))


def score_total(words: Sequence[ScoredWord], scorer: Scorer) -> float:
    """The total of `score_words` alone, faster: for mining large texts."""
    loads = [scorer.weigh_word(word) for word in words]
    return sum(weigh_parts(measure_parts(words, loads, count_joints(words, loads))))


def count_joints(words: Sequence[ScoredWord], loads: Sequence[WordLoad]) -> list[float]:
    """Hiatus between each word and the one before it; never across a breath."""
    joints = [0.0] * len(words)
    for k in range(1, len(words)):
        before, after = loads[k - 1].closing, loads[k].opening
        if before >= 0 and after >= 0 and not words[k - 1].phrase_end:
            joints[k] = (before + after) / 2
    return joints


def measure_parts(
    words: Sequence[ScoredWord], loads: Sequence[WordLoad], joints: Sequence[float]
) -> tuple[float, ...]:
    """The values of the parts, in the order of PART_RULES."""
    if not loads:
        return (0.0,) * len(PART_RULES)
    _, counts, beats, travel, rounding, pulls, back, hiatus, clusters, rarity, _, _ = zip(
        *loads, strict=True
    )
    longest = length = 0
    for word, count in zip(words, counts, strict=True):
        length += count
        longest = max(longest, length)
        if word.phrase_end:
            length = 0
    # Words of consonants alone ("hmm") have no syllable.
    syllables = sum(counts) or 1
    return (
        sum(travel) / (sum(beats) or 1.0),
        sum(rounding) / syllables,
        sum(pulls) / syllables,
        sum(back),
        sum(hiatus) + sum(joints),
        sum(clusters) / syllables,
        float(longest),
        math.sqrt(sum(r * r for r in rarity) / len(rarity)),
    )


def weigh_parts(values: Sequence[float]) -> tuple[float, ...]:
    """The points of the parts, each below its weight."""
    return tuple(
        rule.weight * (1.0 - 2.0 ** (-value / rule.half))
        for rule, value in zip(PART_RULES, values, strict=True)
    )


def _explain(meaning: str, loads: Sequence[WordLoad], shares: Sequence[float]) -> str:
    most: dict[str, float] = {}
    for load, share in zip(loads, shares, strict=True):
        if share > 0:
            most[load.word] = max(share, most.get(load.word, 0.0))
    named = sorted(most, key=lambda word: -most[word])[:NAMED_WORDS]
    return f"{meaning}: {', '.join(named)}" if named else meaning


def format_difficulty(difficulty: Difficulty) -> str:
    """A plain text table: a line per part, then the total and the step."""
    rows = [("part", "value", "unit", "points", "of", "what it is, and where")]
    rows += [
        (
            part.name,
            f"{part.value:.2f}",
            part.unit,
            f"{part.points:.1f}",
            f"{part.weight:g}",
            part.explanation,
        )
        for part in difficulty.parts
    ]
    rows.append(("total", "", "", f"{difficulty.total:.1f}", "100", f"step {difficulty.step}"))
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    right = {1, 3, 4}
    lines = []
    for row in rows:
        cells = [
            cell.rjust(width) if column in right else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=False))
        ]
        lines.append("  ".join([*cells, row[-1]]).rstrip())
    return "\n".join(lines)
