"""A pronunciation of the dictionary as an accent has it: its vowels and its /r/.

A dictionary writes NURSE and lettER as one phone, ER. After this step ER is
the vowel alone, and an R follows it wherever an /r/ is said, so that every
vowel can be replaced by another without losing the /r/.

Where an accent is rhotic every /r/ is said; else only one before a vowel, also
when that vowel begins the next word (linking r) if the profile says so, and one
that spelling has not after the profile's vowels (intrusive r). Wells, Accents of
English (1982), sections 3.2.2 and 3.2.3. The vowels go by lexical set
(lexical_sets.py) where the dictionary has one for several.
"""

from __future__ import annotations

from typing import Final

from drillgen.core.accents import Accent
from drillgen.core.phones import PHONE_TABLE
from drillgen.core.values import Phone, Phones
from drillgen.speech.pronounce.lexical_sets import Spell, find_set

_R: Final = PHONE_TABLE["R"]
_R_PHONES: Final = frozenset({"R", "ER"})


def spell_whole(word: str, phones: Phones) -> tuple[tuple[int, int], ...]:
    """Letters for a word that is not aligned: any phone may stand for all of it."""
    return ((0, len(word)),) * len(phones)


def accent_word(
    phones: Phones,
    accent: Accent,
    next_is_vowel: bool,
    word: str = "",
    spell: Spell = spell_whole,
) -> Phones:
    """One word in the accent. Stress and all consonants but R stay.

    `phones` are those of the dictionary. `next_is_vowel`: the next word of the
    same phrase begins with a vowel. Without `word` the letters tell nothing.

    >>> from drillgen.core.accents import load_accent
    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> water = parse_phones("W AO1 T ER0")
    >>> format_phones(accent_word(water, load_accent("rhotic"), False))
    'W AO1 T ER0 R'
    >>> format_phones(accent_word(water, load_accent("non-rhotic"), False))
    'W AO1 T ER0'
    >>> format_phones(accent_word(water, load_accent("non-rhotic"), True))
    'W AO1 T ER0 R'
    """
    said: list[Phone] = []
    last = len(phones) - 1
    for i, phone in enumerate(phones):
        symbol = phone.symbol
        if phone.stress is not None:
            own = accent.direct.get(symbol)
            if own is None:
                own = accent.sets[find_set(word, phones, i, spell)]
            said.append(phone if own == symbol else Phone(own, phone.stress))
        if symbol not in _R_PHONES:
            if phone.stress is None:
                said.append(phone)
            continue
        following = phones[i + 1] if i < last else None
        before_vowel = next_is_vowel and accent.linking_r
        if following is not None:
            before_vowel = following.stress is not None
        if symbol == "ER":
            # "counterrevolt" is ER R in the dictionary: one /r/, and it is there already.
            if (accent.rhotic or before_vowel) and not (following and following.symbol == "R"):
                said.append(_R)
        # An R that opens the word has no vowel before it to lean on: it stays.
        elif accent.rhotic or before_vowel or not said:
            said.append(phone)
    if next_is_vowel and said and said[-1].symbol in accent.intrusive_r:
        said.append(_R)
    return tuple(said)


def needs_next(phones: Phones, accent: Accent) -> bool:
    """Whether the word sounds different before a word that begins with a vowel.

    All others can be kept ready.
    """
    if accent.intrusive_r and phones:
        return accent_word(phones, accent, False) != accent_word(phones, accent, True)
    return accent.linking_r and bool(phones) and phones[-1].symbol in _R_PHONES


def starts_with_vowel(phones: Phones) -> bool:
    """Whether a linking r is said before this word."""
    return bool(phones) and phones[0].stress is not None
