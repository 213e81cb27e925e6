"""Where a word is put together, so that its hyphens stand there: quick-ly, un-able, voice-mail.

The table is made by tools/make_joints.py from CMUdict; the rules below are for words that it
does not know.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.phones import vowel_indexes
from drillgen.core.resources import read_table
from drillgen.core.values import Phones

Joints = Mapping[int, int]
"""Number of the vowel before a joint, from 0 → consonants between the joint and the next vowel."""

_NONE: Final[Joints] = MappingProxyType({})
_INFLECTIONS: Final = ("s", "'s", "es", "d", "ed", "er", "ers", "ing", "th", "ths")
_ENDINGS: Final = ("ously", "less", "ness", "like", "ment", "ments")


@functools.cache
def load_joints() -> Mapping[str, Joints]:
    """Word in lower case → its joints, where the usual cuts would hide them."""
    return MappingProxyType(
        {
            word: {int(pair[0]): int(pair[2]) for pair in pairs.split()}
            for word, pairs in read_table("respell_joints.tsv.gz")
        }
    )


def find_joints(word: str, phones: Phones) -> Joints:
    """The joints of a word that the usual cuts would hide; none for most words.

    >>> from drillgen.core.phones import parse_phones
    >>> dict(find_joints("unable", parse_phones("AH0 N EY1 B AH0 L")))
    {0: 0}
    """
    table = load_joints()
    if (known := table.get(word)) is not None:
        return known
    if len(word) < 6:
        return _NONE
    for size in (1, 2, 3):
        if (known := table.get(word[:-size])) is not None and word[-size:] in _INFLECTIONS:
            return known
    if word.endswith(_ENDINGS):
        return {len(vowel_indexes(phones)) - 2: 1}
    if word[:2] == "un" and word[2] in "aeio" and phones[1].symbol == "N":
        return {0: 0}
    return _NONE


class Parts(NamedTuple):
    """The two words of a compound, each said as it is alone."""

    first: str
    second: str
    vowels: int
    """Of the first one."""


@functools.cache
def _load_compounds() -> Mapping[str, tuple[int, int]]:
    rows = read_table("respell_compounds.tsv.gz")
    return MappingProxyType({word: (int(cut), int(vowels)) for word, cut, vowels in rows})


def find_parts(word: str) -> Parts | None:
    """The words that a compound is made of.

    >>> find_parts("website")
    Parts(first='web', second='site', vowels=1)
    """
    if (known := _load_compounds().get(word)) is None:
        return None
    cut, vowels = known
    return Parts(word[:cut], word[cut:], vowels)
