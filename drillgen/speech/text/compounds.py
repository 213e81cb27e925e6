"""Words that are written together, as in addresses and tags: "oldharbour" is "old harbour"."""

from __future__ import annotations

from functools import cached_property
from typing import Final

from drillgen.core.resources import read_table
from drillgen.speech.text.rows import Words
from drillgen.speech.text.words import name_letters

_LONGEST: Final = 60
"""Longer rows of letters are left whole."""

_LONGEST_WORD: Final = 20
_COMMON: Final = 5.6
_UNKNOWN: Final = 9.0
_UNKNOWN_LETTER: Final = 0.7
_WORD: Final = 2.5
_SHORT: Final = {1: 5.0, 2: 2.0, 3: 0.3}
"""What a part costs, as a logarithm to the base of ten: a known word its rarity, an unknown
one more for each letter; each part besides, so that names are not cut to pieces."""


class Splitter:
    """Divides letters into the likeliest words, by the frequencies of English words."""

    @cached_property
    def _rarity(self) -> dict[str, float]:
        return {
            word: 9.0 - float(level)
            for level, words in read_table("prompts_frequency.tsv.gz")
            for word in words.split()
            if len(word) > 1 or word in ("a", "i")
        }

    def split(self, letters: str) -> Words:
        """The words of a row of lower-case letters; what has no vowel is spelled out.

        >>> Splitter().split("oldharbour"), Splitter().split("html")
        (('old', 'harbour'), ('h.', 't.', 'm.', 'l.'))
        """
        if len(letters) > _LONGEST:
            return (letters,)
        best: list[tuple[float, int]] = [(0.0, 0)]
        for end in range(1, len(letters) + 1):
            best.append(
                min(
                    (best[start][0] + self._cost(letters[start:end]), start)
                    for start in range(max(0, end - _LONGEST), end)
                )
            )
        parts: list[str] = []
        end = len(letters)
        while end:
            start = best[end][1]
            parts.insert(0, letters[start:end])
            end = start
        return tuple(word for part in parts for word in self._say(part))

    def is_common(self, word: str) -> bool:
        """Whether a word is used at least three times in a million words."""
        return self._rarity.get(word, _UNKNOWN) <= _COMMON

    def _cost(self, part: str) -> float:
        rarity = self._rarity.get(part) if len(part) <= _LONGEST_WORD else None
        if rarity is None:
            rarity = _UNKNOWN + _UNKNOWN_LETTER * len(part)
        return rarity + _WORD + _SHORT.get(len(part), 0.0)

    @staticmethod
    def _say(part: str) -> Words:
        if len(part) == 1 and part not in "ai":
            return name_letters(part)
        return (
            (part,)
            if (set(part) & set("aeiouy") and len(part) > 1) or part in "ai"
            else name_letters(part)
        )
