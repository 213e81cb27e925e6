"""What the room text knows by heart, read from the tables in drillgen/data/."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drillgen.core.options import Locale
from drillgen.core.resources import read_table
from drillgen.speech.text.numerals import Numerals
from drillgen.speech.text.rows import (
    Abbreviation,
    Acronym,
    Currency,
    Region,
    Unit,
    Words,
    word_set,
)

__all__ = ["Abbreviation", "Acronym", "Currency", "Tables", "Unit", "Words", "word_set"]


@dataclass(frozen=True, slots=True)
class Tables:
    """All tables of the room. Read once by each Tokenizer."""

    abbreviations: Mapping[str, tuple[Abbreviation, ...]]
    acronyms: Mapping[str, Acronym]
    short_words: frozenset[str]
    units: Mapping[str, Unit]
    topical: Mapping[str, tuple[str, ...]]
    """Units that are others where a text is about something: what it is about, by symbol; the
    unit itself is under "symbol@topic"."""

    currencies: Mapping[str, Currency]
    """By sign and by ISO 4217 code."""

    symbols: Mapping[str, Words]
    contractions: Mapping[str, Words]
    regions: Mapping[str, Region]
    """Names of states and provinces by their postal code."""

    cues: Mapping[str, frozenset[str]]
    """Words beside a number that tell what it is, or what a text is about, by their kind."""

    rivals: Sequence[tuple[re.Pattern[str], str, str, str]]
    """Forms of numbers with more than one reading: their expression, the readings, the question
    that settles them and what the plain one takes it for (rivals.py)."""

    say: Numerals


def _words(row: tuple[str, ...], column: int) -> Words:
    return tuple(row[column].split()) if column < len(row) else ()


def load_abbreviations() -> dict[str, tuple[Abbreviation, ...]]:
    """The readings of each abbreviation, in the order of the table."""
    table: dict[str, tuple[Abbreviation, ...]] = {}
    for form, when, spoken, ends in read_table("text_abbreviations.tsv"):
        readings = tuple(tuple(one.split()) for one in spoken.split("|"))
        entry = Abbreviation(when, readings, ends)
        table[form] = (*table.get(form, ()), entry)
    return table


def load_tables(locale: Locale = Locale.EN_US) -> Tables:
    """Read every table of the room (about 1 ms)."""
    currencies: dict[str, Currency] = {}
    for row in read_table("text_currencies.tsv"):
        entry = Currency(*(_words(row, column) for column in range(2, 7)))
        for key in row[:2]:
            currencies.setdefault(key, entry)
    currencies.pop("-", None)
    units = {
        row[0]: Unit(_words(row, 1), _words(row, 2), row[3] == "yes")
        for row in read_table("text_units.tsv")
    }
    topical: dict[str, tuple[str, ...]] = {}
    for key in units:
        symbol, _, topic = key.partition("@")
        if topic:
            topical[symbol] = (*topical.get(symbol, ()), topic)
    return Tables(
        abbreviations=load_abbreviations(),
        acronyms={
            row[0]: Acronym(row[1], _words(row, 2)) for row in read_table("text_acronyms.tsv")
        },
        short_words=frozenset(row[0] for row in read_table("text_short_words.tsv")),
        units=units,
        topical=topical,
        currencies=currencies,
        symbols={row[0]: _words(row, 1) for row in read_table("text_symbols.tsv")},
        contractions={row[0]: _words(row, 1) for row in read_table("text_contractions.tsv")},
        regions={row[0]: Region(_words(row, 1), row[2]) for row in read_table("text_regions.tsv")},
        cues={row[0]: word_set(row[1]) for row in read_table("text_cues.tsv")},
        rivals=[
            (re.compile(form), read, question, note)
            for form, read, question, note in read_table("text_rivals.tsv")
        ],
        say=Numerals(locale),
    )
