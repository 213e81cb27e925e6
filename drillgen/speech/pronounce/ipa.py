"""English pronunciations written in IPA, read into ARPAbet.

The symbols are those that dictionaries of American and British English use:
Kenyon & Knott's and Merriam-style broad American, and the notation of Wells,
Longman Pronunciation Dictionary (3rd ed. 2008), with Upton's variants (a, ɛː,
ʌɪ) and Lindsey's glides (ɑj, aw). Shapes and names follow the IPA chart
(revised to 2020).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.errors import InputError
from drillgen.core.phones import PHONE_TABLE
from drillgen.core.resources import read_maps
from drillgen.core.values import Phone, Phones

_LONGEST: Final = 2
"""Characters of the longest symbol."""


class _Table(NamedTuple):
    """What drillgen/data/ipa_symbols.tsv has."""

    symbols: Mapping[str, tuple[str, ...]]
    """IPA to ARPAbet."""

    glides: Mapping[str, str]
    mends: Mapping[str, str]
    vowels: frozenset[str]
    """First characters of vowels."""


@cache
def _load_table() -> _Table:
    maps = read_maps("ipa_symbols.tsv")
    symbols = {
        ipa: tuple(phones.split()) for row, phones in maps["symbol"].items() for ipa in row.split()
    }
    vowels = frozenset(ipa[0] for ipa, said in symbols.items() if said[0] not in PHONE_TABLE)
    return _Table(symbols, maps["glide"], maps["mend"], vowels)


_NURSE: Final = frozenset({"ɜ", "ɜː", "əː"})
_CENTRING: Final = frozenset({"ɪə", "ɪː", "eə", "ɛə", "ɛː", "ʊə"})
_TIES: Final = "\u0361\u035c"
_SYLLABIC: Final = "\u0329\u030d"
_IGNORED: Final = frozenset(
    "\u02b0"  # aspirated
    "\u031a"  # no audible release
    "\u032a"  # dental
    "\u032f"  # non-syllabic
    "\u0325\u030a"  # voiceless
    "\u02d1"  # half-long
    "\u031f\u0320\u0308\u033d"  # advanced, retracted, centralized
    "\u031e\u031d"  # lowered, raised
    "\u02de"  # rhoticity hook, behind ə or ɜ: see _tidy
)
"""Detail below the phoneme."""

_STRESS: Final = MappingProxyType({"ˈ": 1, "'": 1, "’": 1, "ˌ": 2, ",": 2})
_BREAKS: Final = frozenset(".‿- \u00a0")


class _Char(NamedTuple):
    """A character and its column in what the user wrote, from 1."""

    char: str
    column: int


def parse_ipa(text: str, *, column: int = 1) -> Phones:
    """Read an English pronunciation in IPA.

    `column` is the column, from 1, at which `text` begins in its line.

    Stress marks stand before their syllable (IPA chart, suprasegmentals); in
    a word of one syllable no mark means primary stress, unless its vowel is a
    schwa. Slashes or square brackets around the whole are taken off. Choices:

    - ɪə, eə and ʊə (and ɪː, ɛː) are NEAR, SQUARE and CURE, which hold an r;
      write a dot between two vowels (aɪˈdi.ə).
    - ɜː holds its r too. A plain ɑː or ɔː doesn't: write ɑːr or ɑː(r).
    - a sound in round brackets is optional and is kept: careful speech.
    - the flap ɾ is a t, ʍ is HH W, x (loch) is K; n̩, l̩ and m̩ get a schwa.

    Raises InputError that names the column of a symbol that isn't English.

    In one piece because the scanner's rules are tried in a fixed order.

    >>> " ".join(map(str, parse_ipa("/ʃəˈvɔn/")))
    'SH AH0 V AO1 N'
    >>> " ".join(map(str, parse_ipa("ˈbɒt.l̩")))
    'B AA1 T AH0 L'
    """
    chars = _strip(text, column)
    phones: list[Phone] = []
    pending: _Char | None = None
    stressed = False
    schwas: list[int] = []
    i = 0
    while i < len(chars):
        char = chars[i].char
        if char in _STRESS:
            if pending is not None:
                raise _error(chars[i], "two stress marks for one syllable", "keep one")
            pending = chars[i]
            i += 1
            continue
        if char in _BREAKS:
            i += 1
            continue
        symbols, used = _match(chars, i)
        spelled = "".join(c.char for c in chars[i : i + used])
        i += used
        # ər before a consonant or the end is lettER; before a vowel the r opens
        # the next syllable (ˈkæmərə).
        if spelled == "ə" and _at(chars, i) in _R_SIGNS and not _vowel_at(chars, i + 1):
            symbols, i = ("ER",), i + 1
        elif spelled in _NURSE or spelled in _CENTRING:
            j = i
            while _at(chars, j) in _BREAKS:
                j += 1
            if _at(chars, j) in _R_SIGNS:
                i = j + 1
        # A syllabic consonant is a schwa and the consonant; r is lettER.
        if _at(chars, i) in _SYLLABIC_SIGNS:
            i += 1
            symbols = ("ER",) if symbols == ("R",) else ("AH", *symbols)
            spelled = "ə"
        for symbol in symbols:
            if symbol in PHONE_TABLE:
                phones.append(PHONE_TABLE[symbol])
                continue
            stress = _STRESS[pending.char] if pending else 0
            stressed = stressed or stress == 1
            pending = None
            if spelled in _WEAK:
                schwas.append(len(phones))
            phones.append(PHONE_TABLE[f"{symbol}{stress}"])
    if pending is not None:
        raise _error(pending, "a stress mark without a vowel after it", "move or drop it")
    if not phones:
        raise InputError("no sounds between the slashes", "write some, such as /siː/")
    vowels = [k for k, phone in enumerate(phones) if phone.stress is not None]
    if len(vowels) == 1 and not stressed and vowels[0] not in schwas:
        phones[vowels[0]] = PHONE_TABLE[f"{phones[vowels[0]].symbol}1"]
    return tuple(phones)


_R_SIGNS: Final = frozenset("rɹɻ")
_SYLLABIC_SIGNS: Final = frozenset(_SYLLABIC)
_WEAK: Final = frozenset({"ə", "ᵊ", "ɚ"})


def _strip(text: str, first: int) -> list[_Char]:
    """The characters that matter, each with its column in the text."""
    found: list[_Char] = []
    start = first - 1 + len(text) - len(text.lstrip())
    body = text.strip()
    if len(body) >= 2 and (body[0], body[-1]) in {("/", "/"), ("[", "]")}:
        body = body[1:-1]
        start += 1
    for offset, raw in enumerate(body):
        column = start + offset + 1
        # ç and other composed letters stay whole: a mend knows them by one name.
        for char in raw if raw == "ç" else unicodedata.normalize("NFD", raw):
            char = {":": "ː", "g": "ɡ", "ǝ": "ə"}.get(char, char)
            if char == "\u02de" and found and found[-1].char in "əɜ":
                found[-1] = _Char({"ə": "ɚ", "ɜ": "ɝ"}[found[-1].char], found[-1].column)
            elif char not in _IGNORED and char not in _TIES and char not in "()":
                found.append(_Char(char, column))
    depth = 0
    for offset, raw in enumerate(body):
        depth += (raw == "(") - (raw == ")")
        if depth not in (0, 1):
            where = _Char(raw, start + offset + 1)
            raise _error(where, "round brackets that don't pair", "close or drop them")
    if depth:
        where = _Char("(", start + body.rindex("(") + 1)
        raise _error(where, "round brackets that don't pair", "close or drop them")
    return found


def _match(chars: list[_Char], i: int) -> tuple[tuple[str, ...], int]:
    """The ARPAbet symbols of the longest sequence from `i`, and its length."""
    table, pair = _load_table(), _at(chars, i) + _at(chars, i + 1)
    if pair in table.glides and not _vowel_at(chars, i + 2):
        return (table.glides[pair],), 2
    for length in range(_LONGEST, 0, -1):
        sequence = "".join(c.char for c in chars[i : i + length])
        if len(sequence) == length and sequence in table.symbols:
            symbols = table.symbols[sequence]
            # o before r is NORTH and FORCE, not GOAT.
            if sequence in {"o", "oː"} and _at(chars, i + length) in _R_SIGNS:
                symbols = ("AO",)
            return symbols, length
    where = chars[i]
    mend = table.mends.get(where.char, "use the symbols of an English dictionary")
    name = unicodedata.name(where.char, "a character without a name").lower()
    raise _error(where, f"unknown IPA symbol {where.char!r} ({name})", mend)


def _at(chars: list[_Char], i: int) -> str:
    """The character at `i`; behind the end a mark that is in no table."""
    return chars[i].char if i < len(chars) else "\n"


def _vowel_at(chars: list[_Char], i: int) -> bool:
    while _at(chars, i) in _BREAKS or _at(chars, i) in _STRESS:
        i += 1
    return _at(chars, i) in _load_table().vowels


def _error(where: _Char, problem: str, mend: str) -> InputError:
    return InputError(problem, mend, column=where.column)
