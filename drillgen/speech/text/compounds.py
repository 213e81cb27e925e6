"""Words that are written together, as in addresses and tags: "oldharbour" is "old harbour"."""

from __future__ import annotations

from typing import Final

from drillgen.core.resources import load_frequencies
from drillgen.speech.text.rows import Words
from drillgen.speech.text.words import name_letters

_LONGEST: Final = 60
"""Longer rows of letters are left whole."""

_LONGEST_WORD: Final = 20
_COMMON: Final = 3.4
"""Zipf frequency of a word that is used about three times in a million words."""

_UNKNOWN_LETTER: Final = 0.7
_WORD: Final = 2.5
_SHORT: Final = {1: 5.0, 2: 2.0, 3: 0.3}
"""What a part costs, as a logarithm to the base of ten: a known word its rarity, an unknown
one more for each letter; each part besides, so that names are not cut to pieces."""


def split_compound(letters: str) -> Words:
    """The likeliest words of a row of lower-case letters; what has no vowel is spelled out.

    >>> split_compound("oldharbour"), split_compound("html")
    (('old', 'harbour'), ('h.', 't.', 'm.', 'l.'))
    """
    if len(letters) > _LONGEST:
        return (letters,)
    if len(letters) < 4 and load_frequencies().get(letters, 0.0) < _COMMON:
        return name_letters(letters)
    best: list[tuple[float, Words]] = [(0.0, ())]
    for end in range(1, len(letters) + 1):
        cost, start = min((best[k][0] + _cost(letters[k:end]), k) for k in range(end))
        best.append((cost, (*best[start][1], letters[start:end])))
    return tuple(word for part in best[-1][1] for word in _say(part))


def _cost(part: str) -> float:
    known = load_frequencies().get(part) if len(part) <= _LONGEST_WORD else None
    if known is None or (len(part) == 1 and part not in "ai"):
        known = -_UNKNOWN_LETTER * len(part)
    return 9.0 - known + _WORD + _SHORT.get(len(part), 0.0)


def _say(part: str) -> Words:
    if part in ("a", "i") or (len(part) > 1 and not set(part).isdisjoint("aeiouy")):
        return (part,)
    return name_letters(part)
