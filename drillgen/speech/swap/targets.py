"""Target vowels, and the substitution itself."""

from __future__ import annotations

import functools
from collections.abc import Collection
from typing import NamedTuple

from drillgen.core.accents import Accent, load_accent
from drillgen.core.errors import OptionError
from drillgen.core.phones import vowel_indexes
from drillgen.core.values import Phone, Phones, Swap


class Target(NamedTuple):
    """A vowel that others are swapped for."""

    symbol: str
    ipa: str
    lexical_set: str


def list_targets(accent: Accent | None = None) -> tuple[Target, ...]:
    """The vowels of an accent that can be targets.

    Of a diphthong the target is its onset: the glide is not part of the posture.
    """
    accent = accent or load_accent()
    chosen = ((symbol, accent.vowels[symbol]) for symbol in accent.targets)
    return tuple(
        Target(symbol, vowel.onset or vowel.ipa, vowel.lexical_set) for symbol, vowel in chosen
    )


def parse_target(text: str, accent: Accent | None = None) -> Target:
    """Read a target as ARPAbet ("IY"), IPA ("i", "/i/") or lexical set ("FLEECE").

    IPA and sets are those of the accent: a set that it has merged with another
    stands for the vowel of both. Raises OptionError for anything else.

    >>> parse_target("/i/").lexical_set
    'FLEECE'
    """
    accent = accent or load_accent()
    targets = {target.symbol: target for target in list_targets(accent)}
    word = text.strip().strip("/[]")
    name = word.upper()
    for target in targets.values():
        if name == target.lexical_set or word == target.ipa:
            return target
    for target in targets.values():
        if word.removesuffix("ː") == target.ipa.removesuffix("ː"):
            return target
    if (symbol := accent.find_vowel(name)) in targets:
        return targets[symbol]
    choices = ", ".join(f"{t.ipa} ({t.lexical_set})" for t in targets.values())
    raise OptionError(f"target {text!r} is unknown", f"choose one of: {choices}")


def swap_vowels(phones: Phones, target: str, chosen: Collection[int] | None = None) -> Swap:
    """Replace vowels by the target; consonants and stress stay, and so do vowels that
    are the target already.

    `phones` are in the drill's accent, `target` is an ARPAbet symbol, `chosen`
    the indexes of the vowels to swap (None: all). Raises ValueError if an
    index in `chosen` is not that of a vowel.

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> format_phones(swap_vowels(parse_phones("HH AA1 R B ER0 R"), "IY").after)
    'HH IY1 R B IY0 R'
    """
    vowels = vowel_indexes(phones)
    if chosen is not None:
        # Sets: a "word" may have 100,000 vowels.
        wanted = frozenset(chosen)
        if not wanted.issubset(vowels):
            raise ValueError(f"not all of {chosen} are vowels of {' '.join(map(str, phones))}")
        vowels = tuple([i for i in vowels if i in wanted])
    changed = tuple([i for i in vowels if phones[i].symbol != target])
    after = list(phones)
    for index in changed:
        after[index] = _make_vowel(target, phones[index].stress)
    return Swap(phones, tuple(after), changed)


@functools.cache
def _make_vowel(symbol: str, stress: int | None) -> Phone:
    """A few vowels, made again and again."""
    return Phone(symbol, stress)
