"""A second opinion on derived forms: do espeak-ng's rules say the same?

A form built from a known word is rarely wrong, but a rule can meet a word that
only looks like one of its forms ("bass" is no plural). Where espeak-ng's rules
give other consonants or other vowel places, the derivation is much less sure.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from drillgen.core.values import Phones, Pronunciation
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.espeak import Espeak, EspeakError

CHANCES: Final = (
    (0.96, 0.974, 0.621),
    (0.98, 0.988, 0.733),
    (1.01, 0.992, 0.867),
)
"""Rows: confidence of the derivation below, share right where espeak-ng agrees, and where
it differs. Measured on 7,429 words of CMUdict that were left out in turn, a random sample
(bench/holdout.py checks the result on held-out families)."""


def _outline(phones: Phones) -> tuple[str, ...]:
    """Consonants and vowel places. The nasal before k and g counts as n: a prefix keeps
    its n in careful speech ("unkind"), espeak-ng writes the velar one."""
    skeleton = swap_skeleton(phones)
    return tuple(
        "N" if symbol == "NG" and skeleton[i + 1 : i + 2] in (("K",), ("G",)) else symbol
        for i, symbol in enumerate(skeleton)
    )


class Witness:
    """Says how sure a derivation is. Without espeak-ng it changes nothing."""

    def __init__(self, espeak: Espeak | None) -> None:
        self._espeak = espeak

    @classmethod
    def load(cls) -> Witness:
        """The witness of the installation."""
        try:
            return cls(Espeak.load())
        except EspeakError:
            return cls(None)

    def check(self, derived: Pronunciation) -> Pronunciation:
        """The derivation with its confidence revised, and espeak-ng's reading on offer."""
        said = self._espeak.pronounce(derived.word) if self._espeak is not None else None
        if said is None or derived.confidence == 1.0 or derived.note.endswith("drawn out"):
            # A word of our table is sure; of a word that is drawn out it reads every letter.
            return derived
        _, if_agreed, if_not = next(row for row in CHANCES if derived.confidence < row[0])
        if _outline(said) == _outline(derived.phones):
            return replace(derived, confidence=if_agreed)
        others = (*derived.alternatives, *(() if said in derived.alternatives else (said,)))
        return replace(derived, confidence=if_not, alternatives=others)
