"""The rows of the tables that the room text knows by heart."""

from __future__ import annotations

from typing import Final, NamedTuple

Words = tuple[str, ...]

UNKNOWN_SHORT: Final = "an abbreviation that is not known"
UNSETTLED: Final = "a short form that nothing beside it settles"
OPEN_NOTES: Final = frozenset({UNKNOWN_SHORT, UNSETTLED})
"""The notes of pieces that are listed although there is no other reading to offer."""


def word_set(words: str) -> frozenset[str]:
    """The words of a list that is written with spaces."""
    return frozenset(words.split())


def word_row(words: str) -> Words:
    """The words of a list that is written with spaces, in their order."""
    return tuple(words.split())


class Abbreviation(NamedTuple):
    """One way to read an abbreviation."""

    when: str
    """A key of abbreviations.py, or always."""

    readings: tuple[Words, ...]
    """The likeliest first."""

    ends: str
    """May a sentence end here: never, function, capital."""

    @property
    def spoken(self) -> Words:
        """The likeliest reading."""
        return self.readings[0]


class Acronym(NamedTuple):
    """How a form in capitals is read."""

    reading: str
    """word, letters, country or noun."""

    spoken: Words


class Unit(NamedTuple):
    """The two spoken forms of a unit symbol."""

    one: Words
    several: Words
    loose: bool
    """May stand after a space: "5 km", but not "5 in"."""


class Currency(NamedTuple):
    """The spoken forms of a currency."""

    one: Words
    several: Words
    minor_one: Words
    minor_several: Words
    joint: Words


class Region(NamedTuple):
    """A state or province."""

    spoken: Words
    where: str
    """Where its code needs no comma before it: place ("Reno NV", "in NV"), any, or empty."""
