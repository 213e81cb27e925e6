"""Slips of the keys: a word that no source knows, and the common word that was meant.

Whoever reads "beacuse" aloud says "because". The words one edit away are looked for among the
common ones: a letter too many, missing, wrong, or exchanged with its neighbour (four of five
errors are of these kinds: Damerau 1964). How likely a word was meant follows from the edit,
from how common the word is, from its length and from how far the next word is behind, by
weights that tools/fit_slips.py fits.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping
from itertools import pairwise
from math import exp
from typing import Final, NamedTuple

from drillgen.core.resources import load_frequencies, read_table

TABLE: Final = "slip_weights.tsv"

LEAST_LETTERS: Final = 4
"""Of shorter words too many are one edit away from another."""

MOST_TYPED: Final = 24
"""Of longer ones none is common; to look at all edits takes the square of their letters."""

LEAST_FREQUENCY: Final = 2.8
"""Zipf frequency of the rarest word that may be meant."""

SURE: Final = 0.8
"""Slips likelier than this are read as what was meant. Of the misspelt words of codespell's list
that no source knows, 0.51 are, and 0.009 as another word; of Wiktionary's words in small letters
that CMUdict lacks, 0.014 would be (tools/fit_slips.py, the half that was not learnt)."""

KINDS: Final = ("swapped", "doubled", "extra", "single", "missing", "vowel", "near", "other")
"""Letters exchanged; a letter typed twice, one too many; a double letter typed once, one
missing; a vowel for a vowel, a neighbour on the keyboard, any other wrong one."""

FEATURES: Final = (*KINDS, "at start", "at end", "frequency", "letters", "ahead", "offset")

MOST_AHEAD: Final = 4.0
MOST_LETTERS: Final = 12

_LETTERS: Final = "abcdefghijklmnopqrstuvwxyz"
_VOWELS: Final = frozenset("aeiouy")
_KEYS: Final = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_NEAR: Final = frozenset(
    frozenset(pair)
    for upper, lower in zip(_KEYS, (*_KEYS[1:], ""), strict=True)
    for pair in (
        *pairwise(upper),
        *zip(upper, lower, strict=False),
        *zip(upper[1:], lower, strict=False),
    )
)


class Slip(NamedTuple):
    """What a word may be a slip for."""

    meant: str
    chance: float
    """From 0 to 1."""

    frequency: float
    """Zipf, of what was meant."""


class Edit(NamedTuple):
    """A common word one edit away."""

    word: str
    kind: str
    place: int


def list_edits(word: str, words: Container[str]) -> Iterator[Edit]:
    """Those of `words` that are one edit away, the likelier kinds of KINDS first; now and then
    one comes twice.

    >>> list(list_edits("freind", {"friend", "fend", "frend"}))
    [Edit(word='friend', kind='swapped', place=2), Edit(word='frend', kind='extra', place=3)]
    """
    # Hundreds of rows of letters are near a word, few of them words: those are picked out first.
    cuts = [(word[:i], word[i:]) for i in range(len(word) + 1)]
    for i, (head, tail) in enumerate(cuts[:-2]):
        a, b = tail[0], tail[1]
        if a != b and (near := head + b + a + tail[2:]) in words:
            yield Edit(near, "swapped", i)
    for i, (head, tail) in enumerate(cuts[:-1]):
        if (near := head + tail[1:]) in words:
            kind = "doubled" if tail[0] in (head[-1:], tail[1:2]) else "extra"
            yield Edit(near, kind, i)
    for i, (head, tail) in enumerate(cuts):
        for letter in [x for x in _LETTERS if head + x + tail in words]:
            kind = "single" if letter in head[-1:] + tail[:1] else "missing"
            yield Edit(head + letter + tail, kind, i)
    for i, (head, tail) in enumerate(cuts[:-1]):
        typed, rest = tail[0], tail[1:]
        for letter in [x for x in _LETTERS if head + x + rest in words and x != typed]:
            kind = "vowel" if {letter, typed} <= _VOWELS else "other"
            kind = "near" if kind == "other" and frozenset((letter, typed)) in _NEAR else kind
            yield Edit(head + letter + rest, kind, i)


class Slips:
    """Finds what was meant."""

    def __init__(
        self,
        weights: Mapping[str, float],
        frequencies: Mapping[str, float],
        is_known: Callable[[str], bool],
    ) -> None:
        """`frequencies`: Zipf; `is_known`: whether a word can be said when it was meant."""
        self.weights: Final = weights
        self._frequencies: Final = frequencies
        self._is_known: Final = is_known

    @classmethod
    def load(cls, is_known: Callable[[str], bool]) -> Slips:
        """With the tables of the installation."""
        weights = {name: float(value) for name, value in read_table(TABLE)}
        return cls(weights, load_frequencies(), is_known)

    def describe(self, word: str) -> tuple[str, Mapping[str, float]] | None:
        """The likeliest word, and what FEATURES says of it; None where there is none."""
        if not LEAST_LETTERS <= len(word) <= MOST_TYPED or not (word.isascii() and word.isalpha()):
            return None
        found: dict[str, Mapping[str, float]] = {}
        for edit in list_edits(word, self._frequencies):
            frequency = self._frequencies[edit.word]
            if (
                frequency >= LEAST_FREQUENCY
                and edit.word not in found
                and self._is_known(edit.word)
            ):
                found[edit.word] = {
                    edit.kind: 1.0,
                    "at start": float(edit.place == 0),
                    "at end": float(edit.place >= len(word) - 1),
                    "frequency": frequency,
                    "letters": float(min(len(word), MOST_LETTERS)),
                    "offset": 1.0,
                }
        if not found:
            return None
        ranked = sorted(((self._score(f), w) for w, f in found.items()), reverse=True)
        (best, meant), *others = ranked
        ahead = best - others[0][0] if others else MOST_AHEAD
        return meant, {**found[meant], "ahead": min(ahead, MOST_AHEAD)}

    def find(self, word: str) -> Slip | None:
        """What a word (small letters) may be a slip for; None where nothing is near."""
        described = self.describe(word)
        if described is None:
            return None
        meant, features = described
        chance = 1.0 / (1.0 + exp(-self._score(features)))
        return Slip(meant, chance, self._frequencies[meant])

    def _score(self, features: Mapping[str, float]) -> float:
        return sum(self.weights[name] * value for name, value in features.items())
