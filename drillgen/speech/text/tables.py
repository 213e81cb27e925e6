"""What the room text knows by heart, read from the tables in drillgen/data/."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from drillgen.core.resources import read_table

Words = tuple[str, ...]


def word_set(words: str) -> frozenset[str]:
    """The words of a list that is written with spaces."""
    return frozenset(words.split())


class Abbreviation(NamedTuple):
    """One way to read an abbreviation."""

    when: str
    """always, stop, name, street, after, number, month or day."""

    spoken: Words
    ends: str
    """May a sentence end here: never, function, capital."""


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


@dataclass(frozen=True, slots=True)
class Tables:
    """All tables of the room. Read once by each Tokenizer."""

    abbreviations: Mapping[str, tuple[Abbreviation, ...]]
    acronyms: Mapping[str, Acronym]
    short_words: frozenset[str]
    units: Mapping[str, Unit]
    currencies: Mapping[str, Currency]
    """By sign and by ISO 4217 code."""

    symbols: Mapping[str, Words]
    contractions: Mapping[str, Words]


def _words(row: tuple[str, ...], column: int) -> Words:
    return tuple(row[column].split()) if column < len(row) else ()


def load_abbreviations() -> dict[str, tuple[Abbreviation, ...]]:
    """The readings of each abbreviation, in the order of the table."""
    table: dict[str, tuple[Abbreviation, ...]] = {}
    for form, when, spoken, ends in read_table("text_abbreviations.tsv"):
        entry = Abbreviation(when, tuple(spoken.split()), ends)
        table[form] = (*table.get(form, ()), entry)
    return table


def load_tables() -> Tables:
    """Read every table of the room (about 1 ms)."""
    currencies: dict[str, Currency] = {}
    for row in read_table("text_currencies.tsv"):
        entry = Currency(*(_words(row, column) for column in range(2, 7)))
        for key in row[:2]:
            currencies.setdefault(key, entry)
    currencies.pop("-", None)
    return Tables(
        abbreviations=load_abbreviations(),
        acronyms={
            row[0]: Acronym(row[1], _words(row, 2)) for row in read_table("text_acronyms.tsv")
        },
        short_words=frozenset(row[0] for row in read_table("text_short_words.tsv")),
        units={
            row[0]: Unit(_words(row, 1), _words(row, 2), row[3] == "yes")
            for row in read_table("text_units.tsv")
        },
        currencies=currencies,
        symbols={row[0]: _words(row, 1) for row in read_table("text_symbols.tsv")},
        contractions={row[0]: _words(row, 1) for row in read_table("text_contractions.tsv")},
    )
