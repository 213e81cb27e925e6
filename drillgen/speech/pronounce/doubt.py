"""How likely a guess is right: what is known of a choice, and boosted trees that weigh it.

tools/fit_predictor.py fits the weights on words that the network which guessed
them has not learnt. A word is described by numbers (`describe`: how sure the
network is, who agrees with whom and by how much, how English the spelling
looks) and by letter patterns and kinds of disagreement (`list_marks`), whose
weights stand in one hashed table (Weinberger et al. 2009). A last layer, fitted
by tools/fit_last.py for the network that is shipped, weighs what the trees say
and the numbers once more.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import exp, log
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from drillgen.core.resources import data_file, load_frequencies
from drillgen.speech.pronounce.compare import VOWEL, main_stress, swap_skeleton
from drillgen.speech.pronounce.lexicon import spell_plainly
from drillgen.speech.pronounce.neural import Guess

if TYPE_CHECKING:
    from drillgen.core.values import Phones

DOUBT_FILE: Final = "predict_doubt.npz"
BUCKETS: Final = 1 << 15
LETTERS: Final = "^abcdefghijklmnopqrstuvwxyz'"

Skeleton = tuple[str, ...]


class Case(NamedTuple):
    """A choice among candidates that must be judged."""

    word: str
    usual: tuple[Guess, ...]
    """Our network in Wiktionary's habits."""

    listed: tuple[Guess, ...]
    """Our network in CMUdict's habits."""

    espeak: Phones | None
    rival: Phones | None
    """g2p_en's network."""

    ranked: tuple[tuple[Skeleton, float], ...]
    """Candidates and their scores, best first."""


def share_chances(guesses: Sequence[Guess]) -> dict[Skeleton, float]:
    """The chance of each candidate: readings that the full swap makes one add up."""
    shares: dict[Skeleton, float] = {}
    for guess in guesses:
        skeleton = swap_skeleton(guess.phones)
        shares[skeleton] = shares.get(skeleton, 0.0) + exp(guess.log_probability)
    return shares


def find_difference(a: Sequence[str], b: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is left of two rows when their common beginning and end are taken off.

    >>> find_difference(("B", "*", "S"), ("B", "*", "Z"))
    (('S',), ('Z',))
    """
    start, most = 0, min(len(a), len(b))
    while start < most and a[start] == b[start]:
        start += 1
    end = 0
    while end < most - start and a[-1 - end] == b[-1 - end]:
        end += 1
    return tuple(a[start : len(a) - end]), tuple(b[start : len(b) - end])


def _distance(a: Sequence[str] | None, b: Sequence[str] | None) -> float:
    """How many symbols `find_difference` leaves, at most 9; 10 where one is missing."""
    if a is None or b is None:
        return 10.0
    left, right = find_difference(a, b)
    return float(min(9, max(len(left), len(right))))


def _entropy(shares: Mapping[Skeleton, float]) -> float:
    return -sum(p * log(p) for p in shares.values() if p > 0.0)


def _log(p: float) -> float:
    return log(p + 1e-4)


def _symbols(phones: Phones | None) -> list[str] | None:
    return [phone.symbol for phone in phones] if phones else None


FEATURES: Final = tuple(
    """score margin third usual listed margin_usual margin_listed entropy_usual
    entropy_listed rest_usual rest_listed first_usual first_listed usual_of_espeak
    listed_of_espeak is_espeak is_usual is_listed tops_agree usual_listed_phones
    usual_espeak_phones listed_espeak_phones chosen_espeak chosen_second usual_listed
    stress_listed stress_espeak letters skeleton vowels vowel_letters letters_phones
    vowels_espeak is_rival chosen_rival espeak_rival
    doubles frequency surprise most_surprise end_surprise start_surprise marks
    marks_spelling""".split()  # noqa: SIM905
)
"""The numbers that `describe` gives, in this order."""


def describe(case: Case, doubt: Doubt) -> tuple[float, ...]:
    """What FEATURES says of a choice.

    In one piece because the list of features is the specification of the model.
    """
    usual, listed = share_chances(case.usual), share_chances(case.listed)
    spoken = swap_skeleton(case.espeak) if case.espeak else None
    other = swap_skeleton(case.rival) if case.rival else None
    chosen, score = case.ranked[0]
    second = case.ranked[1] if len(case.ranked) > 1 else None
    best = [max(shares, key=shares.__getitem__, default=None) for shares in (usual, listed)]
    ordered = [sorted(shares.values(), reverse=True) for shares in (usual, listed)]
    says = [
        _symbols(guesses[0].phones if guesses else None) for guesses in (case.usual, case.listed)
    ]
    said = _symbols(case.espeak)
    first = (case.usual or case.listed or (None,))[0]
    stress = main_stress(first.phones) if first else None
    letters = spell_plainly(case.word)
    surprises = doubt.surprises(letters)
    spelling, choice = (
        sum(map(doubt.weight, marks)) for marks in (list_patterns(letters), list_marks(case))
    )
    return (
        score,
        score - (second[1] if second else -12.0),
        score - (case.ranked[2][1] if len(case.ranked) > 2 else -12.0),
        _log(usual.get(chosen, 0.0)),
        _log(listed.get(chosen, 0.0)),
        *(_log(o[0]) - _log(o[1] if len(o) > 1 else 0.0) if o else 0.0 for o in ordered),
        _entropy(usual),
        _entropy(listed),
        1.0 - sum(usual.values()),
        1.0 - sum(listed.values()),
        case.usual[0].log_probability if case.usual else 0.0,
        case.listed[0].log_probability if case.listed else 0.0,
        _log(usual.get(spoken, 0.0) if spoken else 0.0),
        _log(listed.get(spoken, 0.0) if spoken else 0.0),
        float(chosen == spoken),
        float(chosen == best[0]),
        float(chosen == best[1]),
        float(best[0] == best[1]),
        _distance(says[0], says[1]),
        _distance(says[0], said),
        _distance(says[1], said),
        _distance(chosen, spoken),
        _distance(chosen, second[0] if second else None),
        _distance(best[0], best[1]),
        float(bool(case.listed) and stress == main_stress(case.listed[0].phones)),
        float(bool(case.espeak) and stress == main_stress(case.espeak or ())),
        float(len(letters)),
        float(len(chosen)),
        float(chosen.count(VOWEL)),
        float(sum(c in "aeiouy" for c in letters) - chosen.count(VOWEL)),
        float(len(letters) - len(chosen)),
        float(spoken.count(VOWEL) - chosen.count(VOWEL)) if spoken else 0.0,
        float(chosen == other),
        _distance(chosen, other),
        _distance(spoken, other),
        float(sum(a == b for a, b in pairwise(letters))),
        doubt.frequency(case.word),
        sum(surprises) / len(surprises),
        max(surprises),
        surprises[-1] + surprises[max(0, len(surprises) - 2)],
        sum(surprises[:3]),
        spelling + choice,
        spelling,
    )


def list_patterns(letters: str) -> Iterator[str]:
    """The pieces of 1 to 5 letters of a word; ^ and $ mark its ends."""
    whole = f"^{letters}$"
    found: set[str] = set()
    for size in (2, 3, 4, 5):
        found.update(whole[at : at + size] for at in range(len(whole) - size + 1))
    yield from sorted(found)


def list_marks(case: Case) -> Iterator[str]:
    """How the opinions differ, in words for the hashed table."""
    chosen = case.ranked[0][0]
    others: list[tuple[str, Skeleton | None]] = [
        ("2", case.ranked[1][0] if len(case.ranked) > 1 else None),
        ("e", swap_skeleton(case.espeak) if case.espeak else None),
        ("r", swap_skeleton(case.rival) if case.rival else None),
        ("u", swap_skeleton(case.usual[0].phones) if case.usual else None),
        ("l", swap_skeleton(case.listed[0].phones) if case.listed else None),
    ]
    tail = case.word[-2:]
    for name, other in others:
        if other is None:
            continue
        ours, theirs = find_difference(chosen, other)
        if ours or theirs:
            text = f"{name}:{' '.join(ours)}>{' '.join(theirs)}"
            yield text
            yield f"{text}:{tail}"
    yield f"end:{tail}:{' '.join(chosen[-2:])}"
    yield f"start:{case.word[:2]}:{' '.join(chosen[:2])}"


def bucket(mark: str) -> int:
    """The place of a mark in the hashed table."""
    return zlib.crc32(mark.encode("utf-8")) % BUCKETS


class Doubt:
    """The weights for one situation: with or without espeak-ng."""

    def __init__(
        self,
        surprise: Sequence[float],
        marks: Sequence[float],
        trees: Sequence[tuple[Sequence[int], Sequence[float], Sequence[int], Sequence[int]]],
        slope: float = 1.0,
        shift: float = 0.0,
        frequencies: Mapping[str, float] | None = None,
        last: Sequence[float] = (),
    ) -> None:
        """`trees`: per node its feature (-1 at a leaf), limit or value, and both followers.
        `last`: weights of the trees' log odds and of each feature, and an offset."""
        self._surprise = surprise
        self._marks = marks
        self._slope, self._shift = slope, shift
        self._last = np.array(last)
        self._frequencies = {} if frequencies is None else frequencies
        # The nodes of all trees in one row; followers count from its start.
        sizes = [len(tree[0]) for tree in trees]
        self._roots = np.cumsum([0, *sizes], dtype=np.intp)[:-1]
        base = np.repeat(self._roots, sizes)
        feature, limit, left, right = (
            np.concatenate([[], *(tree[i] for tree in trees)]) for i in range(4)
        )
        self._limit = limit
        self._feature, self._left, self._right = (
            column.astype(np.intp) for column in (feature, left + base, right + base)
        )

    @classmethod
    def load(cls, *, espeak: bool) -> Doubt:
        """The weights of the installation."""
        prefix = "espeak" if espeak else "alone"
        with np.load(data_file(DOUBT_FILE)) as saved:
            names = ("feature", "limit", "left", "right")
            columns = [saved[f"{prefix}_{name}"] for name in names]
            starts = saved[f"{prefix}_starts"].tolist()
            slope, shift = saved[f"{prefix}_scale"].tolist()
            marks = saved[f"{prefix}_marks"]
            marks = (marks.astype(np.float64) * float(saved[f"{prefix}_unit"])).tolist()
            surprise = (saved["surprise"].astype(np.float64) / 16).tolist()
            last = saved[f"{prefix}_last"].tolist() if f"{prefix}_last" in saved else ()
        trees: list[Any] = [tuple(column[a:b] for column in columns) for a, b in pairwise(starts)]
        return cls(surprise, marks, trees, slope, shift, load_frequencies(), last)

    def weight(self, mark: str) -> float:
        """The weight of a pattern or a mark."""
        return self._marks[bucket(mark)]

    def frequency(self, word: str) -> float:
        """Zipf frequency of a word; 0 below the table's end (2.2)."""
        return self._frequencies.get(word, 0.0)

    def surprises(self, letters: str) -> tuple[float, ...]:
        """-ln of the chance of each letter, and of the end, after the two before it."""
        codes = [0, 0, *(LETTERS.index(c) for c in letters), 0]
        size = len(LETTERS)
        return tuple(
            self._surprise[(codes[i - 2] * size + codes[i - 1]) * size + codes[i]]
            for i in range(2, len(codes))
        )

    def score(self, features: Sequence[Sequence[float]]) -> list[float]:
        """Log odds that choices so described, one a row, are right."""
        rows = np.array(features, np.float64)
        place = np.arange(len(rows))[:, None]
        node = np.repeat(self._roots[None], len(rows), axis=0)
        while (inner := self._feature[node] >= 0).any():
            below = rows[place, self._feature[node]] <= self._limit[node]
            following = np.where(below, self._left[node], self._right[node])
            node = np.where(inner, following, node)
        # Added one by one: the same sum whatever the number of rows.
        total = np.cumsum(self._limit[node], axis=1)[:, -1]
        odds = self._slope * total + self._shift
        if len(self._last):
            terms = np.column_stack((odds, rows, np.ones(len(rows)))) * self._last
            odds = np.cumsum(terms, axis=1)[:, -1]
        result: list[float] = odds.tolist()
        return result

    def judge(self, cases: Sequence[Case]) -> list[float]:
        """Log odds that the first candidate of each case is right."""
        return self.score([describe(case, self) for case in cases]) if cases else []
