"""Which part of a compound of two nouns is stressed.

Most compounds are stressed on the first part; those with a material, a place or a time before
a thing, dishes, ranks and some names on the second (J. C. Wells (2006), English Intonation,
section 3.5; A. Cruttenden (2014), Gimson's Pronunciation of English, chapter 10; both from
memory). The classes stand in drillgen/data/compound_stress.tsv.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Final

from drillgen.core.resources import read_table
from drillgen.speech.prosody.row import Row
from drillgen.speech.prosody.words import LIGHT, PEOPLE, SURNAMES

NOUNS: Final = frozenset({"NN", "NNS", "NNP", "NNPS"})
_FIRST_PARTS: Final = frozenset({"NN", "NNP", "VBG"})


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


def is_compound(row: Row, i: int) -> bool:
    """Whether a word and the next one are a compound with the stress on the first."""
    if i < 0 or i + 1 >= len(row.words) or row.marks[i] or row.tags[i + 1] not in NOUNS:
        return False
    left, right, tag = row.words[i], row.words[i + 1], row.tags[i]
    if ("pair", f"{left}-{right.removesuffix('s')}") in load_compounds():
        return True
    first, second = _ask(left, right)
    if first == "never":
        return False
    if first == "early" or (first == "noun" and right == "juice"):
        return True
    if "'" in left or (right in PEOPLE and tag == "NNP"):
        # "French women" is none, nor is "Tom's house".
        return False
    if second == "early" or (second == "thing" and first != "late"):
        named = right in SURNAMES and is_name(row, i)
        return (tag in _FIRST_PARTS or left.endswith("ing")) and not named
    return _is_plain(row, i) and "late" not in (first, second)


def is_late(row: Row, i: int) -> bool:
    """Whether two nouns are of a class that leaves the stress to the second."""
    first, second = _ask(row.words[i], row.words[i + 1])
    return (first in ("late", "never") or second == "late") and not is_compound(row, i)


def _ask(left: str, right: str) -> tuple[str, str]:
    table = load_compounds()
    return table.get(("first", left), ""), table.get(("second", right), "")


def _is_plain(row: Row, i: int) -> bool:
    """Whether two words are common nouns, and no noun before its verb: the bead slips off."""
    left, tags = row.words[i], row.tags
    return (
        tags[i] == "NN"
        and tags[i + 1] in ("NN", "NNS")
        and left not in LIGHT
        and not row.capital[i + 1]
        and not (row.capital[i] and i and row.marks[i - 1] < _STOP)
        and row.beat[i + 1] - row.beat[i] < _SURE
        and (row.marks[i + 1] > 0 or _ONWARD.isdisjoint(tags[i + 2 : i + 3]))
    )


_STOP, _SURE = 3, 0.85
"""The first mark that ends a sentence; how much stronger readers make the verb of a noun."""

_ONWARD: Final = frozenset({"DT", "PRP", "PRP$", "RP", "RB"})
