"""Pronunciations as people write them for each other: "shiv-AWN", "EYE-vuh".

Syllables with hyphens between them, the stressed one in capitals. The letters
follow a key of our own (KEY) in the manner of newsroom pronouncers (common
practice); real words may stand for themselves ("like: shove on"). This is what
a teacher types and reads at the screen; what clients read on the sheet is
another, stricter key.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.errors import InputError
from drillgen.core.phones import CONSONANTS as CONSONANT_PHONES
from drillgen.core.phones import PHONE_TABLE, vowel_indexes
from drillgen.core.phones import VOWELS as VOWEL_PHONES
from drillgen.core.resources import read_maps
from drillgen.core.syllables import Syllable, syllabify
from drillgen.core.values import Phone, Phones

Lookup = Callable[[str], Phones | None]
"""A word's pronunciation in the dictionary, or None."""

KEY: Final = "soundalike_key.tsv"
"""How letters are read and sounds are written; the file says what each of its tables is for."""

_LONG_E: Final = MappingProxyType({"a": "EY", "e": "IY", "i": "AY", "o": "OW", "u": "UW"})
_LETTERS: Final = frozenset("abcdefghijklmnopqrstuvwxyz")
_MARKS: Final = "'’ˈ′*_"
_SECONDARY: Final = "ˌ"
_MEND: Final = 'write syllables such as "shiv-AWN", the stressed one in capitals'


class _Chunk(NamedTuple):
    """One syllable, or one word that stands for itself."""

    phones: Phones
    stress: int | None
    """What the writer marked; None: nothing."""


def parse_soundalike(text: str, lookup: Lookup) -> Phones:
    """Read a sound-alike.

    Syllables are separated by hyphens or spaces. The stressed one is in
    capitals, in **bold**, or has an apostrophe or ˈ at either end; ˌ marks
    secondary stress. If none is marked, `guess_stress` puts it.

    Each syllable is read by the tables of the key. A lower-case word
    without any hyphen, or of several syllables, is looked up first, so "shove
    on" is two real words; a syllable that the tables don't cover is looked up
    too ("knight-ing"). Raises InputError for letters that neither can read.

    >>> def no_dictionary(word: str) -> None: ...
    >>> " ".join(map(str, parse_soundalike("shiv-AWN", no_dictionary)))
    'SH IH0 V AO1 N'
    """
    chunks: list[_Chunk] = []
    # The hyphen that keeps words together (U+2011) becomes U+2010.
    plain = unicodedata.normalize("NFKC", text).replace("\u2010", "-").replace("–", "-")
    for word in plain.split():
        parts = [part for part in word.split("-") if part.strip(_MARKS)]
        chunks += [_read_chunk(part, len(parts) == 1, lookup) for part in parts]
    if not chunks:
        raise InputError("the sound-alike is empty", _MEND)
    phones = _stress(chunks)
    if not any(phone.stress is not None for phone in phones) and len(chunks) > 1:
        raise InputError(f"{text!r} has no vowel", _MEND)
    return phones


def _read_chunk(part: str, alone: bool, lookup: Lookup) -> _Chunk:
    stress: int | None = None
    if part.startswith(_SECONDARY):
        part, stress = part[1:], 2
    bare = part.strip(_MARKS)
    # "o'clock" keeps its apostrophe: only those at the ends are marks.
    if bare != part or bare.isupper():
        stress = 1
    letters = bare.lower().replace("’", "'")
    if not letters.isalpha() and not letters.replace("'", "").isalpha():
        raise InputError(f"can't read {part!r} as a sound-alike", _MEND)
    spelled = letters
    if len(letters) > 1 and letters[-1] == "a" and letters[-2] != "a":
        # A final a is a schwa, or "ah" where it is stressed: "SOR-sha", "MA-ma".
        spelled = f"{letters}h" if stress == 1 else f"{letters[:-1]}uh"
    found = _read_letters(spelled)
    # A word on its own, or of several syllables, is a real word if there is one.
    word_first = not bare.isupper() and (alone or len(vowel_indexes(found or ())) > 1)
    if word_first or not found:
        found = lookup(letters) or found or _read_loosely(letters)
    if not found:
        raise InputError(f"can't read the letters {bare!r} as a sound-alike", _MEND)
    return _Chunk(found, stress)


def _read_letters(letters: str) -> Phones | None:
    """By the sure tables alone; None if a letter is left over."""
    return _scan(letters, loose=False)


def _read_loosely(letters: str) -> Phones | None:
    """With silent final e and the guesses of the key."""
    if len(letters) > 2 and letters[-1] == "e" and letters[-2] not in "aeiouwyhr":
        at = len(letters) - 2
        while at >= 0 and letters[at] not in "aeiouy":
            at -= 1
        if at >= 0 and letters[at] in _LONG_E and (at == 0 or letters[at - 1] not in "aeiou"):
            start, end = _scan(letters[:at], loose=True), _scan(letters[at + 1 : -1], loose=True)
            if start is not None and end is not None:
                return (*start, PHONE_TABLE[f"{_LONG_E[letters[at]]}0"], *end)
    return _scan(letters, loose=True)


def _scan(letters: str, *, loose: bool) -> Phones | None:
    symbols: list[str] = []
    i = 0
    silent = letters[:2] in ("kn", "wr")
    if silent and not loose:
        return None
    i += silent
    while i < len(letters):
        found, used = _next(letters, i, loose)
        if not used:
            return None
        symbols += found.split()
        i += used
    return tuple(PHONE_TABLE[f"{s}0" if s in VOWEL_PHONES else s] for s in symbols)


def _next(letters: str, i: int, loose: bool) -> tuple[str, int]:
    """The ARPAbet of the longest spelling at `i`, and its length; 0: none."""
    key = read_maps(KEY)
    consonants, guesses = key["consonants"], key["loose"] if loose else {}
    for size in (3, 2):
        part = letters[i : i + size]
        if len(part) < size:
            continue
        after = letters[i + size : i + size + 1]
        if part in key["r_vowels"] and (not after or after not in "aeiouy"):
            return key["r_vowels"][part], size
        doubled = part[0] if size == 2 and part[0] == part[1] else ""
        found = key["vowels"].get(part) or consonants.get(part) or consonants.get(doubled)
        if found or part in guesses:
            return found or guesses[part], size
    letter, after = letters[i], letters[i + 1 : i + 2]
    if letter == "y" and not (after and after in "aeiou"):
        # "fly", "my": long i, as newsrooms write it; inside a syllable a guess.
        return ("AY", 1) if loose or (not after and i) else ("", 0)
    if letter in key["closed"] and after and after not in "aeiouy":
        return key["closed"][letter], 1
    if letter in consonants:
        return consonants[letter], 1
    if loose and letter == "c":
        return ("S" if after and after in "eiy" else "K"), 1
    return (guesses[letter], 1) if letter in guesses else ("", 0)


def _stress(chunks: list[_Chunk]) -> Phones:
    """Put the stress where the writer marked it, or else where it is likely."""
    marked = [i for i, chunk in enumerate(chunks) if chunk.stress == 1]
    # All in capitals says nothing.
    if len(marked) == len(chunks) > 1:
        marked = []
    phones: list[Phone] = []
    for i, chunk in enumerate(chunks):
        main = 1 if marked and i == marked[-1] else 2 if i in marked or chunk.stress == 2 else 0
        vowels = vowel_indexes(chunk.phones)
        if len(vowels) > 1 and any(phone.stress == 1 for phone in chunk.phones):
            # A real word keeps its own stress, weakened beside a marked syllable.
            keep = main or (2 if marked else 1)
            phones += [_with(p, keep if p.stress == 1 else p.stress) for p in chunk.phones]
        else:
            first = vowels[:1]
            phones += [_with(p, main if (k,) == first else 0) for k, p in enumerate(chunk.phones)]
    if not any(phone.stress == 1 for phone in phones):
        return guess_stress(tuple(phones))
    return tuple(phones)


def _with(phone: Phone, stress: int | None) -> Phone:
    return phone if phone.stress is None else PHONE_TABLE[f"{phone.symbol}{stress or 0}"]


_LIGHT: Final = frozenset({"IH", "EH", "AE", "AH", "UH"})


def guess_stress(phones: Phones) -> Phones:
    """Put primary stress on the likeliest vowel; phones without vowels stay.

    The main stress rule for English nouns and names (Chomsky and Halle, The
    Sound Pattern of English, 1968, chapter 3; Hayes, Metrical Stress Theory,
    1995): the last syllable but one if it is heavy (long vowel or closed),
    else the one before it. Of two syllables the first, unless it has a weak
    vowel and the second a long one.
    """
    syllables = syllabify(phones)
    if not syllables:
        return phones
    which = _main_syllable(phones, syllables)
    nucleus = syllables[which].nucleus
    return (*phones[:nucleus], _with(phones[nucleus], 1), *phones[nucleus + 1 :])


def _main_syllable(phones: Phones, syllables: tuple[Syllable, ...]) -> int:
    def weak(syllable: Syllable) -> bool:
        return phones[syllable.nucleus].symbol in _LIGHT

    def schwa(syllable: Syllable) -> bool:
        return phones[syllable.nucleus].symbol == "AH"

    def closed(syllable: Syllable) -> bool:
        return syllable.end > syllable.nucleus + 1

    count = len(syllables)
    if count == 1:
        return 0
    if count == 2:
        first, last = syllables
        heavy_last = not weak(last) and closed(last)
        return 1 if weak(first) and not closed(first) and heavy_last else int(schwa(first))
    penult = syllables[-2]
    if not schwa(penult) and (not weak(penult) or closed(penult)):
        return count - 2
    return count - 3 if not schwa(syllables[-3]) else count - 2


_SPELL_CONSONANT: Final = MappingProxyType(
    {
        **{symbol: symbol.lower() for symbol in CONSONANT_PHONES},
        "HH": "h",
        "JH": "j",
    }
)
_GLIDES: Final = frozenset({"HH", "W", "Y"})


def to_soundalike(phones: Phones) -> str:
    """Write a pronunciation as a sound-alike, stressed syllable in capitals.

    Reading it back gives the same phonemes and primary stress; secondary
    stress isn't shown, and schwa and STRUT are both "uh".

    >>> from drillgen.core.phones import parse_phones
    >>> to_soundalike(parse_phones("SH AH0 V AO1 N"))
    'shuh-VAWN'
    >>> to_soundalike(parse_phones("K AE1 P AH0 T AH0 L"))
    'KAP-uh-tuhl'
    """
    syllables = syllabify(phones)
    if not syllables:
        return "".join(_SPELL_CONSONANT[phone.symbol] for phone in phones)
    bounds = [syllable.start for syllable in syllables] + [len(phones)]
    for k in range(len(syllables) - 1):
        nucleus, following = syllables[k].nucleus, syllables[k + 1].nucleus
        # A short vowel wants a consonant behind it: "KAP-uh", not "KA-puh".
        if (
            phones[nucleus].symbol in read_maps(KEY)["write_closed"]
            and phones[nucleus].stress
            and not phones[following].stress
            and bounds[k + 1] == nucleus + 1 < following
            and phones[nucleus + 1].symbol not in _GLIDES
        ):
            bounds[k + 1] += 1
    return "-".join(
        _spell(phones[start:end], phones[syllable.nucleus].stress == 1)
        for syllable, start, end in zip(syllables, bounds, bounds[1:], strict=False)
    )


def _spell(phones: Phones, stressed: bool) -> str:
    key = read_maps(KEY)
    nucleus = next(i for i, phone in enumerate(phones) if phone.stress is not None)
    onset = "".join(_SPELL_CONSONANT[phone.symbol] for phone in phones[:nucleus])
    vowel, coda = phones[nucleus].symbol, [phone.symbol for phone in phones[nucleus + 1 :]]
    if coda[:1] == ["R"] and vowel in key["write_r"]:
        spelled, coda = key["write_r"][vowel], coda[1:]
    elif coda[:1] == ["R"] and vowel == "ER":
        spelled, coda = "ur", coda[1:]
    elif coda and coda[0] not in _GLIDES and coda[0] != "R" and vowel in key["write_closed"]:
        spelled = key["write_closed"][vowel]
    else:
        spelled = "eye" if vowel == "AY" and not onset else key["write"][vowel]
    # "kn" would be read with a silent k.
    if onset[:2] == "kn":
        onset = f"k-{onset[1:]}"
    # A hard g before e and i; an s that nobody voices.
    if onset.endswith("g") and spelled[0] in "ei":
        onset += "h"
    tail = "".join(_SPELL_CONSONANT[symbol] for symbol in coda)
    if coda == ["S"]:
        tail = "ss"
    text = onset + spelled + tail.replace("ngk", "nk")
    return text.upper() if stressed else text
