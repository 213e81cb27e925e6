"""Target vowels, and the substitution itself."""

from __future__ import annotations

from collections.abc import Collection
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.errors import OptionError
from drillgen.core.phones import VOWELS, vowel_indexes
from drillgen.core.values import Phone, Phones, Swap


class Target(NamedTuple):
    """A vowel that others are swapped for."""

    symbol: str
    ipa: str
    lexical_set: str


TARGETS: Final = MappingProxyType(
    {
        symbol: Target(symbol, ipa, VOWELS[symbol].lexical_set)
        for symbol, ipa in (
            ("IY", "i"),
            ("IH", "ɪ"),
            # The onset of FACE: the glide is not part of the posture.
            ("EY", "e"),
            ("EH", "ɛ"),
            ("AE", "æ"),
            ("AH", "ʌ"),
            ("AA", "ɑ"),
            ("AO", "ɔ"),
            ("UH", "ʊ"),
            ("UW", "u"),
        )
    }
)


def parse_target(text: str) -> Target:
    """Read a target as ARPAbet ("IY"), IPA ("i", "/i/") or lexical set ("FLEECE").

    Raises OptionError for anything else.

    >>> parse_target("/i/").lexical_set
    'FLEECE'
    """
    word = text.strip().strip("/[]").removesuffix("ː")
    for target in TARGETS.values():
        if word.upper() in (target.symbol, target.lexical_set) or word == target.ipa:
            return target
    choices = ", ".join(f"{t.ipa} ({t.lexical_set})" for t in TARGETS.values())
    raise OptionError(f"target {text!r} is unknown", f"choose one of: {choices}")


def swap_vowels(phones: Phones, target: str, chosen: Collection[int] | None = None) -> Swap:
    """Replace vowels by the target; consonants and stress stay.

    `phones` are in the drill's accent, `target` is an ARPAbet symbol, `chosen`
    the indexes of the vowels to swap (None: all). Raises ValueError if an
    index in `chosen` is not that of a vowel.

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> format_phones(swap_vowels(parse_phones("HH AA1 R B ER0 R"), "IY").after)
    'HH IY1 R B IY0 R'
    """
    vowels = vowel_indexes(phones)
    if chosen is None:
        changed = vowels
    else:
        changed = tuple(sorted(set(chosen)))
        if not set(changed) <= set(vowels):
            raise ValueError(f"not all of {changed} are vowels of {' '.join(map(str, phones))}")
    after = list(phones)
    for index in changed:
        after[index] = Phone(target, phones[index].stress)
    return Swap(phones, tuple(after), changed)
