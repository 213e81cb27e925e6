"""What an accent does to /r/.

A dictionary writes NURSE and lettER as one phone, ER. After this step ER is
the vowel alone, and an R follows it wherever an /r/ is said, so that every
vowel can be replaced by another without losing the /r/.

Rhotic (General American): every /r/ is said. Non-rhotic (Received
Pronunciation and most accents of England and Wales): /r/ only before a vowel,
also when that vowel begins the next word (linking r). Wells, Accents of
English (1982), sections 3.2.2 (r-dropping) and 3.2.3 (linking and intrusive
r). Intrusive r, which the spelling has not ("idea-r-of"), is never added.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from drillgen.core.options import Accent
from drillgen.core.values import Phone, Phones

_R: Final = Phone("R")
_R_PHONES: Final = frozenset({"R", "ER"})


def accent_word(phones: Phones, accent: Accent, next_is_vowel: bool) -> Phones:
    """One word in the accent. Stress and all consonants but R stay.

    `next_is_vowel`: the next word of the same phrase begins with a vowel.

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> water = parse_phones("W AO1 T ER0")
    >>> format_phones(accent_word(water, Accent.RHOTIC, False))
    'W AO1 T ER0 R'
    >>> format_phones(accent_word(water, Accent.NON_RHOTIC, False))
    'W AO1 T ER0'
    >>> format_phones(accent_word(water, Accent.NON_RHOTIC, True))
    'W AO1 T ER0 R'
    """
    said: list[Phone] = []
    last = len(phones) - 1
    rhotic = accent is Accent.RHOTIC
    for i, phone in enumerate(phones):
        symbol = phone.symbol
        if symbol not in _R_PHONES:
            said.append(phone)
            continue
        following = phones[i + 1] if i < last else None
        before_vowel = next_is_vowel if following is None else following.stress is not None
        if symbol == "ER":
            said.append(phone)
            # "counterrevolt" is ER R in the dictionary: one /r/, and it is there already.
            if (rhotic or before_vowel) and not (following and following.symbol == "R"):
                said.append(_R)
        # An R that opens the word has no vowel before it to lean on: it stays.
        elif rhotic or before_vowel or not said:
            said.append(phone)
    return tuple(said)


def needs_next(phones: Phones, accent: Accent) -> bool:
    """Whether the word sounds different before a word that begins with a vowel.

    Only r-final words in a non-rhotic accent do; all others can be kept ready.
    """
    return accent is Accent.NON_RHOTIC and bool(phones) and phones[-1].symbol in {"R", "ER"}


def starts_with_vowel(phones: Phones) -> bool:
    """Whether a linking r is said before this word."""
    return bool(phones) and phones[0].stress is not None


def apply_accent(words: Sequence[Phones], accent: Accent) -> tuple[Phones, ...]:
    """The words of one phrase in the accent; a linking r stays with the first word.

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> words = parse_phones("F AA1 R"), parse_phones("AH0 W EY1")
    >>> [format_phones(word) for word in apply_accent(words, Accent.NON_RHOTIC)]
    ['F AA1 R', 'AH0 W EY1']
    >>> [format_phones(word) for word in apply_accent(words[:1], Accent.NON_RHOTIC)]
    ['F AA1']
    """
    following = [*map(starts_with_vowel, words[1:]), False]
    # No words: no pairs, though the list of what follows is never empty.
    return tuple(
        accent_word(phones, accent, vowel) for phones, vowel in zip(words, following, strict=False)
    )
