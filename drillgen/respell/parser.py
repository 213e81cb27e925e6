"""The way back: from a respelling to phonemes, by the key alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from drillgen.errors import InputError
from drillgen.model import Phone, Phones

_VOWELS: Final = {
    "ee": "IY",
    "i": "IH",
    "ih": "IH",
    "ay": "EY",
    "e": "EH",
    "eh": "EH",
    "ai": "EH",
    "a": "AE",
    "aa": "AE",
    "ah": "AA",
    "aw": "AO",
    "o": "AO",
    "oh": "OW",
    "uu": "UH",
    "oo": "UW",
    "uh": "AH",
    "ur": "ER",
    "igh": "AY",
    "ow": "AW",
    "oy": "OY",
}
_ONSET: Final = {
    **{letter: (letter.upper(),) for letter in "pbtdkgfvszmnlryw"},
    "h": ("HH",),
    "j": ("JH",),
    "gh": ("G",),
    "wh": ("HH", "W"),
    "ch": ("CH",),
    "sh": ("SH",),
    "th": ("TH",),
    "dh": ("DH",),
    "zh": ("ZH",),
    "ng": ("NG",),
}
_CODA: Final = {**_ONSET, "ss": ("S",), "nk": ("NG", "K")}
_GAP: Final = "'"
_VOWEL_LETTERS: Final = frozenset("aeiou")
_LONGEST: Final = 3


def parse_respelling(text: str, *, rhotic: bool = True) -> Phones:
    """Read a respelling back to phonemes; vowels come back without stress.

    What the key writes alike comes back as one: "eer" as IY R, "air" as EH R,
    "or" as AO R, "oor" as UW R, "ur" as ER R. In a non-rhotic accent "ur" is
    ER alone, unless a vowel follows. Raises InputError for anything that the
    writer can't have written.

    >>> from drillgen.phones import format_phones
    >>> format_phones(parse_respelling("ghee-teeng"))
    'G IY0 T IY0 NG'
    """
    phones: list[Phone] = []
    syllables = text.split("-")
    for number, syllable in enumerate(syllables):
        units = split_units(syllable)
        for place, unit in enumerate(units):
            if unit in _VOWELS:
                phones.append(Phone(_VOWELS[unit], 0))
                if unit == "ur" and (
                    rhotic
                    or (
                        place == len(units) - 1
                        and number < len(syllables) - 1
                        and syllables[number + 1][0] in _VOWEL_LETTERS
                    )
                ):
                    phones.append(Phone("R"))
            else:
                phones.extend(map(Phone, _CODA[unit]))
    return tuple(phones)


def split_units(syllable: str) -> tuple[str, ...]:
    """Split one syllable of a respelling into the spellings of its sounds.

    >>> split_units("theenk")
    ('th', 'ee', 'nk')
    """
    vowel = next((i for i, letter in enumerate(syllable) if letter in _VOWEL_LETTERS), None)
    if vowel is None:
        # A lasting sound is written twice at the end of a word without a vowel.
        if len(syllable) > 1 and syllable[-1] == syllable[-2]:
            syllable = syllable[:-1]
        return tuple(_match(syllable, 0, len(syllable), _ONSET))
    units = _match(syllable, 0, vowel, _ONSET)
    for size in range(_LONGEST, 0, -1):
        letters = syllable[vowel : vowel + size]
        if letters in _VOWELS:
            break
    else:
        raise InputError(f"respelling {syllable!r}: no vowel of the key; check it")
    units.append(letters)
    units += _match(syllable, vowel + len(letters), len(syllable), _CODA)
    return tuple(units)


def _match(text: str, start: int, end: int, table: Mapping[str, tuple[str, ...]]) -> list[str]:
    """The longest spelling of the table at each place; gaps only divide."""
    units = []
    while start < end:
        if text[start] == _GAP:
            start += 1
            continue
        size = 2 if text[start : min(start + 2, end)] in table else 1
        unit = text[start : min(start + size, end)]
        if unit not in table:
            raise InputError(
                f"respelling {text!r}: {unit!r} is not in the key; check the spelling"
            )
        units.append(unit)
        start += size
    return units
