"""Which letters may stand for which phonemes at all.

A unit pairs one to four letters with up to three phonemes. The rules here are
those of descriptions of English spelling (Carney 1994, A Survey of English
Spelling; Hanna et al. 1966, Phoneme-grapheme correspondences; both from
memory): vowel digraphs, the consonant digraphs, silent letters, syllabic
consonants. How likely each unit is, the trained table says (letters.py).

Phonemes are coded as one character each, so that a stretch of them is a slice
of a string.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from drillgen.core.phones import CONSONANTS, MORE_VOWELS, SET_VOWELS, VOWELS
from drillgen.core.phones import LETTER_NAMES as AMERICAN_NAMES
from drillgen.core.resources import read_maps
from drillgen.core.values import Phone, Phones

SCHWA: Final = "AX"
"""AH without stress: nearly any vowel letter may stand for it, so it must not
blur what is learned about STRUT."""

CODES: Final = MappingProxyType(
    (_VOWEL_CODES := {symbol: chr(ord("A") + k) for k, symbol in enumerate(sorted(VOWELS))})
    # Vowels that only other accents have are written as those of the dictionary.
    | {s: _VOWEL_CODES[SET_VOWELS[v.lexical_set]] for s, v in MORE_VOWELS.items()}
    | {SCHWA: "@"}
    | {symbol: chr(ord("a") + k) for k, symbol in enumerate(sorted(CONSONANTS))}
)
"""A character per phoneme: capitals for vowels, small letters for consonants."""

MAX_LETTERS: Final = 4
MAX_PHONES: Final = 3

VOWEL_LETTERS: Final = frozenset("aeiouy")

_VOWEL_SPELLING: Final = re.compile(r"[aeiouy]{1,4}|[aeou]{1,2}w|iew|[aeiou]{1,2}gh|[aeiou]{1,3}h")
_YOD_SPELLING: Final = re.compile(r"u[aeiou]{0,3}|i?eu|i?ew|eau|ou")
_CONSONANT_GROUPS: Final = frozenset(
    group
    for row in (
        "bh bt ch ck cc cch cq cz dg dh dj ds gh ght gn kh kn ld lh lk mb mn ng pb ph pn ps pt",
        "rh rrh rt sc sch sh st sw sz tch th ts tsch tz wh wr xc xh zh zz",
    )
    for group in row.split()
)
_SYLLABIC: Final = MappingProxyType({"l": "L", "r": "R", "m": "M", "n": "N"})
_GLIDES: Final = MappingProxyType({"i": "Y", "e": "Y", "y": "Y", "u": "W", "o": "W"})

_MORE_NAMES: Final = {
    "h": "EY CH;HH EY CH",
    "r": "AA R;AA",
    "w": "D AH B AX L Y UW;D AX B AX L Y UW;D AH B AX L Y AX;D AH B Y UW",
    "z": "Z IY;Z EH D",
}
"""Of other accents, and weakened."""

LETTER_NAMES: Final = MappingProxyType(
    {
        letter: tuple("".join(CODES[s] for s in name.split()) for name in names.split(";"))
        for letter, names in {**AMERICAN_NAMES, **_MORE_NAMES}.items()
    }
)
"""How the letters are called: in acronyms a letter stands for its name."""


def encode_phones(phones: Phones) -> str:
    """One character per phoneme; stress only tells AH and schwa apart.

    >>> from drillgen.core.phones import parse_phones
    >>> len(encode_phones(parse_phones("B Y UW1 T AH0 F AH0 L")))
    8
    """
    return "".join(map(_PHONE_CODES.__getitem__, phones))


_PHONE_CODES: Final = MappingProxyType(
    {Phone(s, stress): code for s, code in CODES.items() for stress in (None, 0, 1, 2)}
    | {Phone("AH", 0): CODES[SCHWA]}
)


def is_vowel_code(code: str) -> bool:
    """Whether the one-character code stands for a vowel."""
    return code < "a"


def silent_extra(letters: str, i: int) -> float:
    """Extra cost in nats if the letter at `i` is silent, beyond its cost in the table.

    A vowel letter after another vowel letter belongs to a digraph ("ai", "ue")
    wherever that can be; "e" is silent at the end rather than in the middle of
    a word. Fixed, not learned: a table of single units can't see neighbours.
    """
    letter = letters[i]
    if letter not in VOWEL_LETTERS:
        return 0.0
    before = letters[i - 1] if i else ""
    last = i + 1 == len(letters)
    if before in VOWEL_LETTERS:
        # "played": the ending is no part of the digraph.
        return 0.0 if before == "y" and not last else 4.0
    if letter != "e" or last:
        return 0.0
    # "heart", but "noticeable", where the letter marks the consonant before it.
    return 3.0 if letters[i + 1] in "aiou" and before not in ("c", "g") else 1.5


def first_silent_extra(letters: str, i: int) -> float:
    """Extra cost in nats if the vowel letter at `i`, first of "ei", "ou" or "are", is silent: in
    "weird", "Houston", "cares" it isn't, in "therein" it is.

    Not part of the training, which would learn it away.
    """
    pair, ending = letters[i : i + 2], letters[i + 1 : i + 3]
    said = pair == "ou" or ending == "re" or (pair == "ei" and letters[i - 1 : i] != "r")
    return 5.0 if said else 0.0


@functools.cache
def _load_units() -> Mapping[str, frozenset[tuple[str, str]]]:
    """Letters and coded phonemes of consonants, by how many phonemes they are."""
    return {
        kind: frozenset(
            (letters, "".join(CODES[s] for s in sound.split()))
            for letters, sounds in rows.items()
            for sound in sounds.split(";")
        )
        for kind, rows in read_maps("align_units.tsv").items()
    }


def _carries_vowel(letters: str, following: str) -> bool:
    match = _VOWEL_SPELLING.fullmatch(letters)
    # "h" closes a vowel spelling ("ah", "John") only where it can't open a syllable.
    if match is None or (letters[-1] == "h" and following in VOWEL_LETTERS):
        return False
    return not (letters[-2:] == "ye" and letters[0] in "aou")  # "played" ends in -ed


def is_admissible(letters: str, code: str, following: str = "") -> bool:
    """Whether English spelling can write the phonemes `code` as `letters`.

    `following` is the letter after them, or "". Apostrophes count as letters.

    In one piece because it is a table of English spellings, a line for each.
    """
    size = len(letters)
    if not code:
        return size == 1
    vowels = [c < "a" for c in code]  # see CODES
    if len(code) == 1:
        if vowels[0]:
            if _carries_vowel(letters, following):
                return True
            return code == CODES["ER"] and letters in ("r", "re", "rr")
        if size == 1:
            glide = _GLIDES.get(letters)
            return letters not in "aeiou'" if glide is None else code == CODES[glide]
        doubled = size == 2 and letters[0] == letters[1] and letters[0] not in "aeiouy'"
        marked = (letters, code) in _load_units()["one"]
        return doubled or letters in _CONSONANT_GROUPS or marked
    if len(code) == 2:
        first, second = code[0], code[1]
        if vowels == [False, False]:
            return (letters, code) in _load_units()["two"]
        if vowels == [False, True]:
            if letters == "mc" and first == CODES["M"]:
                return True
            if first == CODES["Y"]:
                return _YOD_SPELLING.fullmatch(letters) is not None
            if first == CODES["W"]:
                return letters in ("o", "oi", "oy", "oui", "ou", "oe")
            return code in LETTER_NAMES.get(letters, ())
        if vowels == [True, False]:
            if code in LETTER_NAMES.get(letters, ()):
                return True
            if first in (CODES["AX"], CODES["IH"]) and second == CODES["Z"]:
                return letters in ("'s", "s", "'")
            if first in (CODES["AX"], CODES["IH"]) and second == CODES["D"]:
                return letters == "'d"
            if first == CODES["AX"] and second == CODES["V"] and letters == "'ve":
                return True
            if second == CODES["W"] and letters in ("u", "ou", "ow"):
                return True
            if code == CODES["ER"] + CODES["R"] and size <= 2 and set(letters) <= VOWEL_LETTERS:
                return True
            if first not in (CODES["AX"], CODES["AH"], CODES["ER"], CODES["IH"]):
                return False
            base = letters[0]
            if base not in _SYLLABIC or second != CODES[_SYLLABIC[base]]:
                return False
            return letters in (base, base + base) or letters in ("le", "re", "ro")
        return False
    if letters == "mc":
        return code[0] == CODES["M"] and vowels == [False, True, False] and code[2] == CODES["K"]
    return code in LETTER_NAMES.get(letters, ())
