"""Words that CMUdict lacks, as Wiktionary says them in American English.

The table is made by tools/second_opinions.py, which says how it was checked,
and is read when the first word is asked for that CMUdict lacks.
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
SURE: Final = 0.9
"""Words less sure than this are no base for derived forms."""


class Supplement:
    """The words of a table with rows of word, phones, and how many of 100 are right."""

    def __init__(self, lines: Sequence[str]) -> None:
        """`lines`: the rows, sorted."""
        self._lines: Final = lines

    @classmethod
    def load(cls) -> Supplement:
        """The table of the installation."""
        text = gzip.decompress(data_file(TABLE).read_bytes()).decode("utf-8")
        return cls([line for line in text.split("\n") if line and line[0] != "#"])

    def find(self, word: str) -> Pronunciation | None:
        """A word, accents left aside; None if it is not in the table."""
        if (row := find_line(self._lines, spell_plainly(word) + "\t")) is None:
            return None
        said, share = row.split("\t")
        return Pronunciation(
            word, parse_phones(said), Origin.WIKTIONARY, int(share) / 100, (), NOTE
        )

    def entries(self, word: str) -> tuple[Phones, ...]:
        """The pronunciation of a word that is sure enough to build on, or ()."""
        found = self.find(word)
        return (found.phones,) if found is not None and found.confidence >= SURE else ()
