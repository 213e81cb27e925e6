"""Accents as data: one profile each in drillgen/data/accents/.

A profile says how an accent differs from the accent of the dictionary, General
American: its vowels by lexical set (Wells, Accents of English, 1982, chapter 2),
their IPA, what becomes of /r/, which words and regular forms are its own, and
formant averages. No code knows an accent by its name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

import msgspec

from drillgen.core.errors import OptionError, ResourceError
from drillgen.core.phones import CONSONANTS, MORE_SETS, MORE_VOWELS, SET_VOWELS, VOWELS, Vowel
from drillgen.core.resources import data_folder

DEFAULT_ACCENT: Final = "rhotic"
"""The accent of the dictionary."""

FORMS: Final = frozenset({"yod", "weak -ary", "endings", "-rsion", "prefixes", "un-"})
"""Regular differences of whole words that a profile may ask for; local_form in
drillgen/speech/pronounce/variants.py has the rules."""


R_SETS: Final = frozenset(("NURSE", "NEAR", "SQUARE", "START", "NORTH", "FORCE", "CURE", "LETTER"))
"""The lexical sets with an /r/ after the vowel in rhotic accents."""

_WEAK_SETS: Final = frozenset({"HAPPY", "LETTER", "COMMA", "RABBIT"})
_R_COLOURED: Final = ("ɝ", "ɚ")


class Formants(NamedTuple):
    """Averages of a vowel in Hz; 0 where a study gives none."""

    f1: float
    f2: float
    f3: float = 0.0
    f0: float = 0.0


@dataclass(frozen=True, slots=True)
class Accent:
    """What an accent is made of."""

    name: str
    """As it is chosen."""

    title: str
    """As a list of choices shows it."""

    called: str
    """What else it may be chosen by."""

    source: str
    """What describes it."""

    locale: str
    """How numbers and dates are read with it (a Locale of drillgen.core.options)."""

    voice: str
    """The voice of espeak-ng that is nearest."""

    rhotic: bool
    """Every /r/ is said; else only those before a vowel."""

    linking_r: bool
    """A final /r/ that is dropped comes back before a vowel of the same phrase."""

    intrusive_r: frozenset[str]
    """Vowels that take an /r/, which spelling lacks, before a vowel ("idea-r-of")."""

    forms: frozenset[str]
    """Of FORMS."""

    words: tuple[str, ...]
    """Tables in drillgen/data/ with words of its own; an earlier one wins."""

    readings: tuple[str, ...]
    """The same for readings of homographs."""

    supplement: str
    """Table in drillgen/data/ that is asked first for words that the dictionary lacks; "" for
    none."""

    sets: Mapping[str, str]
    """Lexical set → symbol of its vowel, for all sets."""

    vowels: Mapping[str, Vowel]
    """Its inventory by symbol, in the order of the dictionary's."""

    spellings: Mapping[str, tuple[str, str, str]]
    """How a vowel is respelled where the common key does not suit: at the end of a
    syllable, before a consonant, before /r/."""

    long_before: frozenset[str]
    """Consonants before which, and at the end of a word, stressed vowels have
    their long IPA symbol."""

    targets: tuple[str, ...]
    """Vowels that others may be swapped for."""

    women: Mapping[str, Formants]
    men: Mapping[str, Formants]
    paths: Mapping[str, tuple[str, str]]
    """Start and end of vowels that were not measured, as two that were."""

    direct: Mapping[str, str]
    """Dictionary vowel → its vowel, where all lexical sets of it have the same."""

    @property
    def is_reference(self) -> bool:
        """Its vowels and /r/ are those of the dictionary."""
        return self.rhotic and self.sets == SET_VOWELS

    @property
    def yods(self) -> bool:
        """/j/ is said after coronals: "new", "reduce", "assume"."""
        return "yod" in self.forms

    def set_ipa(self, lexical_set: str) -> str:
        """IPA of a lexical set, with its /r/ where that is said before a pause."""
        vowel = self.vowels[self.sets[lexical_set]]
        ipa = vowel.weak if lexical_set in _WEAK_SETS and vowel.weak else vowel.ipa
        if self.rhotic and lexical_set in R_SETS and not ipa.endswith(_R_COLOURED):
            ipa += CONSONANTS["R"]
        return ipa

    def find_vowel(self, name: str) -> str | None:
        """The symbol of a vowel by its name here, in the dictionary or in another accent,
        or by a lexical set; None for anything else."""
        known = VOWELS.get(name) or MORE_VOWELS.get(name)
        return name if name in self.vowels else self.sets.get(known.lexical_set if known else name)


@cache
def list_accents() -> Mapping[str, str]:
    """Name → title of every profile, the dictionary's accent first.

    >>> list(list_accents())[0]
    'rhotic'
    """
    return MappingProxyType({name: load_accent(name).title for name in _list_names()})


@cache
def _list_names() -> tuple[str, ...]:
    names = [path.stem for path in data_folder("accents").glob("*.toml")]
    return tuple(sorted(names, key=lambda name: (name != DEFAULT_ACCENT, name)))


def parse_accent(text: str, option: str = "accent") -> str:
    """Read the name of an accent, or raise OptionError that lists the choices.

    >>> parse_accent(" Non-rhotic "), parse_accent("British")
    ('non-rhotic', 'non-rhotic')
    """
    name = text.strip().lower()
    if name in _list_names():
        return name
    others = {known: load_accent(known).called for known in _list_names()}
    for known, other in others.items():
        if other and name == other:
            return known
    choices = ", ".join(name + f" or {other}" * bool(other) for name, other in others.items())
    raise OptionError(f"{option} {text!r} is unknown", f"choose one of: {choices}")


@cache
def load_accent(name: str = DEFAULT_ACCENT) -> Accent:
    """The profile of an accent, read once. OptionError for an unknown name."""
    return read_accent(data_folder("accents") / f"{parse_accent(name)}.toml")


def read_accent(path: Path) -> Accent:
    """Read and check one profile. ResourceError that names the file and the field."""
    try:
        row = msgspec.toml.decode(path.read_bytes(), type=_Profile)
        return _build(path.stem, row)
    except (msgspec.DecodeError, ValueError) as error:
        raise ResourceError(str(error), "install drillgen again", file=path.name) from None


class _Row(msgspec.Struct, forbid_unknown_fields=True):
    """A vowel in a profile; what is not given is as in the dictionary's accent."""

    ipa: str
    weak: str = ""
    long: str = ""
    onset: str = ""
    lexical_set: str | None = None
    diphthong: bool | None = None
    rounded: bool | None = None
    back: bool | None = None
    spelling: tuple[str, str, str] | None = None


class _Profile(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """A profile as its file has it."""

    title: str
    called: str = ""
    source: str
    locale: str
    voice: str
    rhotic: bool
    linking_r: bool = False
    intrusive_r: frozenset[str] = frozenset()
    forms: frozenset[str] = frozenset()
    words: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    supplement: str = ""
    long_before: frozenset[str] = frozenset()
    targets: tuple[str, ...]
    sets: dict[str, str] = {}
    vowels: dict[str, _Row] = {}
    women: dict[str, list[float]]
    men: dict[str, list[float]] = {}
    paths: dict[str, tuple[str, str]] = {}


def _build(name: str, row: _Profile) -> Accent:
    """The profile with the dictionary's vowels where it says nothing else."""
    sets = {**SET_VOWELS, **row.sets}
    common = {**VOWELS, **MORE_VOWELS}
    _check("lexical set", row.sets, SET_VOWELS)
    _check("vowel", (*row.vowels, *row.sets.values()), common)
    vowels = {s: v for s, v in common.items() if s in sets.values()}
    for symbol, new in row.vowels.items():
        _check("vowel", [symbol], vowels)
        given = {
            field: value
            for field in ("lexical_set", "diphthong", "rounded", "back")
            if (value := getattr(new, field)) is not None
        }
        vowels[symbol] = vowels[symbol]._replace(
            ipa=new.ipa, weak=new.weak, long=new.long, onset=new.onset, **given
        )
    _check("form", row.forms, FORMS)
    _check("consonant", row.long_before, CONSONANTS)
    _check("vowel", (*row.targets, *row.intrusive_r, *row.women, *row.men), vowels)
    for symbol in vowels:
        _check("formants of the vowel", row.paths.get(symbol, (symbol,)), row.women)
    spelled = {s: new.spelling for s, new in row.vowels.items() if new.spelling}
    _check("spelling of the vowel", vowels.keys() & MORE_VOWELS.keys(), spelled)
    given = msgspec.structs.asdict(row) | {
        "sets": MappingProxyType(sets),
        "vowels": MappingProxyType(vowels),
        "women": _read_formants(row.women),
        "men": _read_formants(row.men),
        "paths": MappingProxyType(row.paths),
    }
    spellings, direct = MappingProxyType(spelled), MappingProxyType(_find_direct(sets))
    return Accent(name=name, spellings=spellings, direct=direct, **given)


def _find_direct(sets: Mapping[str, str]) -> Mapping[str, str]:
    direct = {}
    for symbol in VOWELS:
        possible = [name for name, vowel in SET_VOWELS.items() if vowel == symbol]
        possible += MORE_SETS.get(symbol, ())
        said = {sets[name] for name in possible}
        if all(sets[name] == SET_VOWELS[name] for name in possible):
            said = {symbol}
        if len(said) == 1:
            direct[symbol] = said.pop()
    return direct


def _check(what: str, names: Iterable[str], known: Iterable[str]) -> None:
    for name in names:
        if name not in known:
            raise ValueError(f"the {what} {name!r} is unknown; choose of {', '.join(known)}")


def _read_formants(rows: Mapping[str, Sequence[float]]) -> Mapping[str, Formants]:
    for symbol, row in rows.items():
        if not 2 <= len(row) <= 4 or not all(0 < hz < 5000 for hz in row):
            raise ValueError(f"formants of {symbol}: give F1 and F2, then F3 and f0, in Hz")
    return MappingProxyType({symbol: Formants(*row) for symbol, row in rows.items()})
