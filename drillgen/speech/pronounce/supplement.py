"""Words that CMUdict lacks, as Wiktionary and misaki's dictionaries say them in American English;
and those that a British dictionary has.

The tables are made by tools/second_opinions.py, tools/misaki_words.py, tools/british_only.py and
tools/gather_british.py, which say how they were checked, and are read when the first word is
asked for that CMUdict lacks.
"""

from __future__ import annotations

import gzip
from collections.abc import Sequence
from typing import Final, NamedTuple

from drillgen.core.phones import parse_phones
from drillgen.core.resources import data_file, find_row
from drillgen.core.values import Origin, Phones, Pronunciation
from drillgen.speech.pronounce.lexicon import spell_plainly

BRITISH_NOTE: Final = "from a British dictionary"
SURE: Final = 0.9
"""Words less sure than this are no base for derived forms."""


class Book(NamedTuple):
    """A table with rows of word, phones, and how many of 100 such words are right."""

    text: str
    """The rows, sorted, a line each. What is said at the head of a file sorts before all words."""

    origin: Origin
    note: str

    @classmethod
    def load(cls, name: str, origin: Origin, note: str) -> Book:
        """A table of the installation."""
        return cls(gzip.decompress(data_file(name).read_bytes()).decode("utf-8"), origin, note)


_TABLES: Final = (
    ("wiktionary_words", Origin.WIKTIONARY, "from Wiktionary"),
    ("misaki_words", Origin.MISAKI, "from misaki's dictionary"),
    ("misaki_british", Origin.MISAKI, "misaki's dictionary, the British one"),
    ("wiktionary_british", Origin.WIKTIONARY, "Wiktionary, as the British say it"),
)


class Supplement:
    """The words of tables, those of the first one first."""

    def __init__(self, books: Sequence[Book]) -> None:
        self._books: Final = books

    @classmethod
    def load(cls, *, british: bool = True) -> Supplement:
        """The tables of the installation, with or without those of words, most of them names,
        that only British sources have."""
        return cls(
            [
                Book.load(f"{table}.tsv.gz", origin, note)
                for table, origin, note in _TABLES
                if british or not table.endswith("british")
            ]
        )

    @classmethod
    def load_local(cls, table: str) -> Supplement:
        """The table that an accent names."""
        return cls((Book.load(table, Origin.DICTIONARY, BRITISH_NOTE),))

    def find(self, word: str) -> Pronunciation | None:
        """A word, accents left aside; None if it is in no table."""
        start = spell_plainly(word) + "\t"
        for book in self._books:
            if (row := find_row(book.text, start)) is not None:
                said, share = row.split("\t")
                return Pronunciation(
                    word, parse_phones(said), book.origin, int(share) / 100, (), book.note
                )
        return None

    def entries(self, word: str) -> tuple[Phones, ...]:
        """The pronunciation of a word that is sure enough to build on, or ()."""
        found = self.find(word)
        return (found.phones,) if found is not None and found.confidence >= SURE else ()
