"""The respelling key: how each sound is written.

The spellings stand here as values; what the reader of a sheet is told about
them stands in drillgen/data/respell_key.tsv. docs/respelling.md gives the
reasons and the measurements.
"""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.accents import DEFAULT_ACCENT, Accent, load_accent
from drillgen.core.resources import read_table
from drillgen.core.values import KeyEntry, Respelling


class VowelSpelling(NamedTuple):
    """The spellings of one vowel."""

    open: str
    """At the end of a syllable."""

    closed: str
    """Before a consonant of the same syllable."""

    before_r: str
    """Before an /r/ of the same syllable, where the vowel was not swapped."""

    bare: str = ""
    """The whole syllable, if that is not `open`."""


@dataclass(frozen=True, slots=True, eq=False)
class Key:
    """Every spelling choice of the writer. Compared by identity, so that it can be hashed."""

    vowels: Mapping[str, VowelSpelling]
    """By ARPAbet symbol. ER has its r inside when no /r/ follows it."""

    consonants: Mapping[str, str]
    """By ARPAbet symbol, where no rule below says otherwise."""

    hard_g: str = "gh"
    """/ɡ/ before a vowel spelling that begins with e, i or y."""

    final_s: str = "ss"
    """/s/ after the vowel, unless it touches a voiceless consonant."""

    final_z: str = "z"
    """/z/ after the vowel."""

    nk: str = "nk"
    """/ŋk/ in one syllable."""

    hw: str = "wh"
    """/hw/ at the start of a syllable."""

    gap: str = "'"
    """Between two consonants of one syllable that could be read as one."""

    glide: str = ""
    """Between a consonant and /j/: byee."""

    ns: str = "nce"
    """/ns/ at the end of a syllable."""

    shuns_words: bool = True
    """Print another spelling where a syllable would be an English word said otherwise."""

    accent: str = DEFAULT_ACCENT
    """Name of the accent in which such words are said."""

    yods: bool = False
    """/j/ after a coronal opens a syllable with it ("tyeen", tune)."""


def _vowel(open_: str, closed: str = "", before_r: str = "", bare: str = "") -> VowelSpelling:
    closed = closed or open_
    return VowelSpelling(open_, closed, before_r or closed, bare)


KEY: Final = Key(
    vowels=MappingProxyType(
        {
            "IY": _vowel("ee"),
            "IH": _vowel("ih", "i", "ee"),
            "EY": _vowel("ay"),
            "EH": _vowel("eh", "e", "ai"),
            "AE": _vowel("aa", "a", "ai"),
            "AA": _vowel("ah", "ah", "a"),
            "AO": _vowel("aw", "aw", "o"),
            "OW": _vowel("oh", "oa", "o"),
            "UH": _vowel("uu", "uu", "oo"),
            "UW": _vowel("oo"),
            "AH": _vowel("uh", "u"),
            "ER": _vowel("ur", "ur", "u"),
            "AY": _vowel("igh", bare="eye"),
            "AW": _vowel("ow", "ou", "ow"),
            "OY": _vowel("oy"),
        }
    ),
    consonants=MappingProxyType(
        {
            **{symbol: symbol.lower() for symbol in "PBTDKGFVSZMNLRYW"},
            "CH": "ch",
            "JH": "j",
            "TH": "th",
            "DH": "th",
            "SH": "sh",
            "ZH": "zh",
            "HH": "h",
            "NG": "ng",
        }
    ),
)
"""The key of every sheet."""


Parts = tuple[str, str, str]
"""The letters of a syllable before, of and after its vowel."""


@functools.cache
def load_clashes(accent: str = DEFAULT_ACCENT) -> Mapping[str, Parts]:
    """Syllables that are English words said otherwise in an accent → what is printed instead.

    Made by tools/make_clashes.py for the key of every accent.
    """
    return MappingProxyType(
        {
            printed: (onset, vowel, coda)
            for accents, printed, onset, vowel, coda in read_table("respell_clashes.tsv")
            if accent in accents.split()
        }
    )


def fit_key(accent: Accent) -> Key:
    """The key with an accent's own spellings of vowels."""
    own = {symbol: _vowel(*spelling) for symbol, spelling in accent.spellings.items()}
    vowels = MappingProxyType({**KEY.vowels, **own})
    return replace(KEY, vowels=vowels, yods=accent.yods, accent=accent.name)


def key_entries(
    respellings: Iterable[Respelling], accent: Accent | None = None
) -> tuple[KeyEntry, ...]:
    """The lines of the key that these respellings need, vowels first.

    Words that kept their own spelling need none. Letters that read as in any
    English word (p, m, l …) have no line.

    >>> from drillgen.core.values import Run
    >>> [entry.spelling for entry in key_entries([Respelling((Run("ghee-teeng"),))])]
    ['ee', 'gh', 'ng']
    """
    texts = {_text_of(respelling) for respelling in respellings if respelling.respelled}
    syllables = {syllable for text in texts for syllable in text.replace(" ", "-").split("-")}
    names: set[str] = set()
    for syllable in syllables:
        names |= name_lines(syllable)
    return tuple(KeyEntry(*row[1:]) for row in read_key(accent) if row[0] in names)


def _text_of(respelling: Respelling) -> str:
    """What needs the key: without the parts of compounds that keep their own letters, which
    are no vowel's and have vowels."""
    runs = respelling.runs
    if True not in [run.vowel for run in runs]:
        return respelling.text
    return "".join([run.text for run in runs if run.vowel or _is_coded(run.text)])


@functools.lru_cache(maxsize=1 << 12)
def _is_coded(letters: str) -> bool:
    """Whether letters without a vowel's are those of the key; a text has few different ones."""
    return _VOWEL.isdisjoint(letters.replace(KEY.ns, ""))


def read_key(accent: Accent | None = None) -> tuple[tuple[str, ...], ...]:
    """The whole key of an accent as rows: name, spelling, IPA, example, note."""
    accent = accent or load_accent()
    own = {spelling for spellings in accent.spellings.values() for spelling in spellings}
    rows = [
        (*row, "")[:5]
        for row in read_table("respell_key.tsv")
        if row[0] not in _ONLY_OF_SOME or row[0] in own
    ]
    return tuple((*row[:2], _write_sound(row[2], accent), *row[3:]) for row in rows)


def _write_sound(text: str, accent: Accent) -> str:
    """IPA of the lexical sets of a line; IPA stays what it is."""
    names = text.split(", ")
    return ", ".join(accent.set_ipa(n) if n in accent.sets else n for n in names)


def split_units(syllable: str) -> list[str]:
    """Split one syllable of a respelling into the spellings of its sounds.

    >>> split_units("theenk")
    ['th', 'ee', 'nk']
    """
    if _VOWEL.isdisjoint(syllable) and syllable[-1:] == syllable[-2:-1]:
        # A lasting sound is written twice at the end of a word without a vowel.
        syllable = syllable[:-1]
    return _UNITS.findall(syllable)


_VOWEL: Final = frozenset("aeiou")
_UNITS: Final = re.compile(
    "igh|eye|ooh|ee|ea|ih|ay|eh|a[iahwyu]|o[ohauwyi]|u[uhr]|[aeiou]|tch|[cstzg]h|wh|nce|ng|nk|ss|[a-z]"
)
"""Longest first: of two spellings that fit, the longer is meant."""


def name_lines(syllable: str) -> set[str]:
    """Names of the key's lines that one syllable needs."""
    units, lines = split_units(syllable), _load_line_names()
    names = {lines.get(unit, unit) for unit in units}
    for unit, following in itertools.pairwise(units):
        if following == "r" and unit in _BEFORE_R:
            names.discard(lines.get(unit, unit))
            names.add(_BEFORE_R[unit])
    if KEY.gap in syllable:
        names.add("gap")
    return names


_ONLY_OF_SOME: Final = frozenset({"o"})
"""Lines for spellings that only the profiles of some accents have."""


@functools.cache
def _load_line_names() -> Mapping[str, str]:
    """Spelling → the name of its line in the key, where that is another."""
    rows = (row for row in read_table("respell_key.tsv") if row[0][0] != ".")
    named = {spelling: row[0] for row in rows for spelling in row[1].split(", ")}
    return {**named, "ea": "ee", "ooh": "oo", "tch": "ch"}


_BEFORE_R: Final = MappingProxyType(
    {"ee": "eer", "ai": "air", "a": "ar", "ah": "ar", "o": "or", "aw": "or", "oo": "oor"}
)
