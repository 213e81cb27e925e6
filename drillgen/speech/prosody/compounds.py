"""Which part of a compound of two nouns is stressed.

Most compounds are stressed on the first part; those with a material, a place or a time before
a thing, dishes, ranks and some names on the second (J. C. Wells (2006), English Intonation,
section 3.5; A. Cruttenden (2014), Gimson's Pronunciation of English, chapter 10; both from
memory). The classes stand in drillgen/data/compound_stress.tsv.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Final

from drillgen.core.resources import read_table
from drillgen.speech.prosody.row import Row
from drillgen.speech.prosody.words import LIGHT, members

NOUNS: Final = frozenset({"NN", "NNS", "NNP", "NNPS"})
_FIRST_PARTS: Final = frozenset({"NN", "NNP", "VBG"})
_DOING: Final = re.compile("[aeiouy]")
"""What stands before the ending of a gerund or participle, not of "king" or "spring"."""


@cache
def load_compounds() -> Mapping[tuple[str, str], str]:
    """The stress ("early", "late" …) that a word asks for, by its part in the compound and
    itself."""
    return {
        (part, word): stress
        for part, stress, _, _, words in read_table("compound_stress.tsv")
        for word in words.split()
    }


def is_name(row: Row, i: int) -> bool:
    """Whether a word and the next one are parts of one name."""
    tags, then = row.tags, i + 1
    return (
        tags[i] == "NNP"
        and then < len(tags)
        and tags[then] == "NNP"
        and row.capital[i] == row.capital[then] == 1
        and not row.marks[i]
    )


def is_letter(row: Row, i: int) -> bool:
    """Whether a word is the name of a letter, as in "TV"."""
    return len(row.words[i]) == 2 and row.words[i][1] == "."


def is_compound(row: Row, i: int) -> bool:
    """Whether a word and the next one are a compound with the stress on the first."""
    if i < 0 or i + 1 >= len(row.words) or row.marks[i] or row.tags[i + 1] not in NOUNS:
        return False
    left, right, tag = row.words[i], row.words[i + 1], row.tags[i]
    if ("pair", f"{left}-{right.removesuffix('s')}") in load_compounds():
        return True
    first, second = _ask(left, right)
    if "never" in (first, second) or row.tokens[i] == row.tokens[i + 1] or _is_placed(row, i):
        # The letters of "CN" are no compound.
        return False
    if i and row.tokens[i - 1] == row.tokens[i] and row.tags[i - 1] in ("CD", "JJ"):
        # "A two-day TRIP", "a second-hand CAR"
        return False
    if first == "owner":
        return ("owned", right) in load_compounds()
    if left.endswith("ing") and _DOING.search(left[:-3]) and first != "early":
        return _is_gerund(row, i, first, second)
    if first == "early" or (first == "noun" and right == "juice"):
        return True
    if "'" in left or (right in members("people") and tag == "NNP"):
        # "French women" is none, nor is "Tom's house".
        return False
    if second == "early" or (second == "thing" and first != "late"):
        named = right in members("surnames") and is_name(row, i)
        return tag in _FIRST_PARTS and not named
    return _is_plain(row, i) and "late" not in (first, second)


def is_late(row: Row, i: int) -> bool:
    """Whether two nouns are of a class that leaves the stress to the second."""
    first, second = _ask(row.words[i], row.words[i + 1])
    late = first in ("late", "never") or second == "late" or _is_placed(row, i)
    return late and not is_compound(row, i)


def _is_placed(row: Row, i: int) -> bool:
    """Whether a country or county stands before a common noun: Texas PLANTS."""
    return row.tags[i] == "NNP" and not row.capital[i + 1] and row.words[i] in _load_regions()


@cache
def _load_regions() -> frozenset[str]:
    """Names of countries, counties and states in one word, lower case."""
    places = next(row[1] for row in read_table("name_places.tsv") if row[0] == "region")
    states = (row[1] for row in read_table("text_regions.tsv"))
    return frozenset(place.lower() for place in (*places.split(";"), *states))


def _is_gerund(row: Row, i: int, first: str, second: str) -> bool:
    """Whether a form in -ing tells what its noun is for (WALKING boots), not what it does (a
    floating BOTTLE)."""
    right = row.words[i + 1]
    if first not in ("gerund", "doing") or ("animate", right) in load_compounds():
        return False
    if i and row.words[i - 1] in ("after", "before", "without", "while", "when", "since"):
        # "After finishing SCHOOL"
        return False
    plain = first == "gerund" and _is_plain(row, i) and second != "late"
    return plain or second in ("early", "thing") or ("used", right) in load_compounds()


def _ask(left: str, right: str) -> tuple[str, str]:
    table = load_compounds()
    return table.get(("first", left), ""), table.get(("second", right), "")


def _is_plain(row: Row, i: int) -> bool:
    """Whether two words are common nouns, and no noun before its verb: the bead slips off."""
    left, tags = row.words[i], row.tags
    return (
        tags[i] == "NN"
        and tags[i + 1] in ("NN", "NNS")
        and LIGHT.isdisjoint((left, row.words[i + 1]))
        and not row.capital[i + 1]
        and not (row.capital[i] and i and row.marks[i - 1] < _STOP)
        and row.beat[i + 1] - row.beat[i] < _SURE
        and (row.marks[i + 1] > 0 or _ONWARD.isdisjoint(tags[i + 2 : i + 3]))
    )


_STOP, _SURE = 3, 0.85
"""The first mark that ends a sentence; how much stronger readers make the verb of a noun."""

_ONWARD: Final = frozenset({"DT", "PRP", "PRP$", "RP", "RB"})
