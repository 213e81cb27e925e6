"""Words that CMUdict lacks, as Wiktionary says them in American English; and those that a
British dictionary has.

The tables are made by tools/second_opinions.py and tools/gather_british.py, which say how they
were checked, and are read when the first word is asked for that CMUdict lacks.
"""

from __future__ import annotations

import gzip
from collections.abc import Sequence
from typing import Final

from drillgen.core.phones import parse_phones
from drillgen.core.resources import data_file, find_line
from drillgen.core.values import Origin, Phones, Pronunciation
from drillgen.speech.pronounce.lexicon import spell_plainly

TABLE: Final = "wiktionary_words.tsv.gz"
NOTE: Final = "from Wiktionary"
BRITISH_NOTE: Final = "from a British dictionary"
SURE: Final = 0.9
"""Words less sure than this are no base for derived forms."""


class Supplement:
    """The words of a table with rows of word, phones, and how many of 100 are right."""

    def __init__(
        self, lines: Sequence[str], origin: Origin = Origin.WIKTIONARY, note: str = NOTE
    ) -> None:
        """`lines`: the rows, sorted; `origin` and `note`: what its words are said to be from."""
        self._lines: Final = lines
        self._origin: Final = origin
        self._note: Final = note

    @classmethod
    def load(cls) -> Supplement:
        """The table of the installation."""
        return cls(_read_lines(TABLE))

    @classmethod
    def load_local(cls, table: str) -> Supplement:
        """The table that an accent names."""
        return cls(_read_lines(table), Origin.DICTIONARY, BRITISH_NOTE)

    def find(self, word: str) -> Pronunciation | None:
        """A word, accents left aside; None if it is not in the table."""
        if (row := find_line(self._lines, spell_plainly(word) + "\t")) is None:
            return None
        said, share = row.split("\t")
        return Pronunciation(
            word, parse_phones(said), self._origin, int(share) / 100, (), self._note
        )

    def entries(self, word: str) -> tuple[Phones, ...]:
        """The pronunciation of a word that is sure enough to build on, or ()."""
        found = self.find(word)
        return (found.phones,) if found is not None and found.confidence >= SURE else ()


def _read_lines(table: str) -> Sequence[str]:
    text = gzip.decompress(data_file(table).read_bytes()).decode("utf-8")
    return [line for line in text.split("\n") if line and line[0] != "#"]
