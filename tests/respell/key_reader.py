"""The way back: from a respelling to phonemes, by the key alone."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Final

from drillgen.core.errors import InputError
from drillgen.core.values import Phone, Phones
from drillgen.speech.respell.key import load_clashes

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
    "o": "OH",
    "oh": "OW",
    "oa": "OW",
    "uu": "UH",
    "oo": "UW",
    "uh": "AH",
    "u": "AH",
    "ur": "ER",
    "igh": "AY",
    "eye": "AY",
    "ow": "AW",
    "ou": "AW",
    "oy": "OY",
    "ea": "IY",
    "ooh": "UW",
    "au": "AW",
}
_BEFORE_R: Final = {"a": "AA", "o": "AO"}
# Printed where the usual spelling would be an English word that is said otherwise.
_AFTER_CLASH: Final = {
    rhotic: {"".join(parts): text for text, parts in load_clashes(accent).items()}
    for rhotic, accent in ((True, "rhotic"), (False, "non-rhotic"))
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
    "zh": ("ZH",),
    "ng": ("NG",),
}
_CODA: Final = {**_ONSET, "ss": ("S",), "nk": ("NG", "K"), "nce": ("N", "S"), "tch": ("CH",)}
_GAP: Final = "'"
_VOWEL_LETTERS: Final = frozenset("aeiou")
_ONLY_BEFORE_R: Final = frozenset(("ai",))
_LONGEST: Final = 3


def parse_respelling(text: str, *, rhotic: bool = True) -> Phones:
    """Read a respelling back to phonemes; vowels come back without stress.

    What the key writes alike comes back as one: "eer" as IY R, "air" as EH R,
    "or" as AO R, "oor" as UW R, "ur" as ER R; "th" as TH. In a non-rhotic accent "ur" is
    ER alone, unless a vowel follows. Raises InputError for anything that the
    writer can't have written.

    >>> from drillgen.core.phones import format_phones
    >>> format_phones(parse_respelling("ghee-teeng"))
    'G IY0 T IY0 NG'
    """
    syllables = [_AFTER_CLASH[rhotic].get(syllable, syllable) for syllable in text.split("-")]
    phones: list[Phone] = []
    if len(syllables) > 1 and syllables[0] in ("m", "n"):
        # A nasal that no English syllable begins with.
        phones.append(Phone(syllables.pop(0).upper()))
    for number, syllable in enumerate(syllables):
        units = split_units(syllable)
        following = syllables[number + 1][:1] if number + 1 < len(syllables) else ""
        if len(syllables) > 1 and _VOWELS.keys().isdisjoint(units):
            raise InputError(f"respelling {text!r}: {syllable!r} has no vowel", "check it")
        for unit, after in itertools.zip_longest(units, units[1:], fillvalue=""):
            if unit not in _VOWELS:
                phones.extend(map(Phone, _CODA[unit]))
                continue
            # "ar" and "or" are the spellings whose vowel depends on what follows.
            phones.append(Phone(_BEFORE_R.get(unit if after == "r" else "", _VOWELS[unit]), 0))
            links = not after and following in _VOWEL_LETTERS
            if unit == "ur" and (rhotic or links):
                phones.append(Phone("R"))
    return tuple(phones)


def split_units(syllable: str) -> tuple[str, ...]:
    """Split one syllable of a respelling into the spellings of its sounds.

    >>> split_units("theenk")
    ('th', 'ee', 'nk')
    """
    if not syllable:
        raise InputError("respelling: a syllable is empty", "check the hyphens")
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
    end = vowel + len(letters)
    if letters not in _VOWELS or (letters in _ONLY_BEFORE_R and syllable[end : end + 1] != "r"):
        raise InputError(f"respelling {syllable!r}: no vowel of the key", "check it")
    return (*units, letters, *_match(syllable, end, len(syllable), _CODA))


def _match(text: str, start: int, end: int, table: Mapping[str, tuple[str, ...]]) -> list[str]:
    """The longest spelling of the table at each place; gaps only divide."""
    units = []
    while start < end:
        if text[start] == _GAP:
            start += 1
            continue
        size = next((n for n in (3, 2) if text[start : min(start + n, end)] in table), 1)
        unit = text[start : min(start + size, end)]
        if unit not in table:
            raise InputError(
                f"respelling {text!r}: {unit!r} is not in the key", "check the spelling"
            )
        units.append(unit)
        start += size
    return units
