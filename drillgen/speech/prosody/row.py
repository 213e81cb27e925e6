"""The spoken words of a text in a row, with all that the rules of prosody ask about them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, chain
from operator import itemgetter
from typing import Final

import numpy as np

from drillgen.core.resources import read_table
from drillgen.core.values import Boundary, Clause, Token
from drillgen.speech.prosody.network import Hints, Network
from drillgen.speech.prosody.words import UNMARKED, members

_SPOKEN: Final = itemgetter(4)
_QUESTIONS: Final = frozenset("?？⁇⁈‽")
_EXCLAIMS: Final = frozenset("!！‼")
COMMAS: Final = frozenset(",，、")


_NOUN_BEFORE: Final = frozenset({"JJ", "PRP$", "DT"})


def _mend_tags(words: Sequence[str], tags: list[str]) -> None:
    """Tags that their neighbours rule out: no modal follows an adjective or a determiner, no
    finite verb a modal, "tireless" before a noun is no noun, and "froze" is none."""
    for i, tag in enumerate(tags):
        if tag == "MD" and i:
            noun = tags[i - 1] in _NOUN_BEFORE and words[i - 1] not in _PRONOUNS
            if noun or (i + 1 < len(tags) and words[i + 1] in _FINITE and words[i] in _NOUNS):
                tags[i] = "NN"
        elif tag in ("NN", "VBG") and tags[i + 1 : i + 2] in _BEFORE and _is_adjective(words[i]):
            tags[i] = "JJ"
        elif tag == "NN" and words[i] in members("pasts"):
            tags[i] = "VBD"
        elif tag == "JJR" and tags[i + 1 : i + 2] == ["CD"] and words[i] not in _MORE:
            # "Chapter two"
            tags[i] = "NN"


@cache
def _load_adjectives() -> frozenset[str]:
    return frozenset(word for _, words in read_table("adjectives.tsv") for word in words.split())


def _is_adjective(word: str) -> bool:
    return word.endswith(("less", "ous", "ical")) or word in _load_adjectives()


_BEFORE: Final = (["NN"], ["NNS"], ["JJ"])
_FINITE: Final = frozenset({"is", "was", "has", "had", "are", "were"})
_NOUNS: Final = frozenset({"will", "can", "might", "may", "must"})
_MORE: Final = frozenset({"more", "less", "fewer"})
_PRONOUNS: Final = frozenset({"this", "that", "these", "those", "all", "some", "each", "both"})


@dataclass(frozen=True, slots=True)
class Row:
    """The spoken words of a text, lower case, each with its place and the network's hints."""

    words: list[str]
    stems: list[str]
    """The words without the ending of a plural or a possessive; "" for one that only opens
    what is said: "Look, ..."."""

    tags: list[str]
    """Penn tags; "" where a word is not one."""

    tokens: list[int]
    """Number of each word's token."""

    marks: list[int]
    """What follows each word: a number of network.MARKS."""

    pause: list[float]
    beat: list[float]
    """See network.Hints."""

    sizes: list[int]
    """Syllables, estimated from the letters."""

    capital: list[int]
    """1 for a word that is written with a capital, other than "I"."""

    ends: list[int]
    """Per clause, the number of the word after it."""

    heads: list[int]
    """Per word, the number of the first one of its paragraph."""


def mark_number(clause: Clause) -> int:
    """The number in network.MARKS of what closes a clause."""
    marks = clause.marks
    if not _QUESTIONS.isdisjoint(marks):
        return 4
    if not _EXCLAIMS.isdisjoint(marks):
        return 5
    if clause.boundary is Boundary.MAJOR:
        return 3
    return 1 if marks[:1] in COMMAS or not marks else 2


_SYLLABLE: Final = re.compile("[aeiouy]+")
_SILENT: Final = re.compile(
    r"[aeiouy][^aeiouy\s]*[^aeiouyl\s]es?\b|[aeiouy][^aeiouy\s]*[^aeiouytd\s]ed\b"
)


def count_syllables(words: str) -> int:
    """Syllables of spoken words, estimated from their letters. Good enough to breathe by.

    >>> count_syllables("the harbour lights were late")
    6
    """
    return max(1, len(_SYLLABLE.findall(words)) - len(_SILENT.findall(words)))


class Sizes(dict[str, int]):
    """Syllables of each word that was met."""

    def __missing__(self, word: str) -> int:
        self[word] = size = count_syllables(word)
        return size


_ELIDED: Final = re.compile(r"([a-z]{2,}[^aeiou'])'(d|st|n[a-z]*|r(?!e\b)[a-z]*)")
_HAD: Final = frozenset({"that'd", "what'd", "how'd", "why'd", "they'd"})


def write_out(word: str) -> str:
    """A word of verse as the network knows it; any other word as it is.

    >>> [write_out(word) for word in ("touch'd", "grow'st", "heav'n", "they'd", "isn't")]
    ['touched', 'grow', 'heaven', "they'd", "isn't"]
    """
    match = None if word in _HAD else _ELIDED.fullmatch(word)
    if match is None:
        return UNMARKED.get(word, word)
    return match[1] + ("" if match[2] == "st" else "e" + match[2])


def make_row(
    tokens: Sequence[Token], clauses: Sequence[Clause], network: Network, sizes: Sizes
) -> Row:
    """Line up the words of a text and ask the network about them."""
    spoken = list(map(_SPOKEN, tokens))
    words = [
        write_out(word) if "'" in word else UNMARKED.get(word, word)
        for word in chain.from_iterable(spoken)
    ]
    said = list(accumulate(map(len, spoken), initial=0))
    size = len(words)
    marks = np.zeros(size, np.int64)
    stops = np.zeros(size, bool)
    ends = [said[clause.end] for clause in clauses]
    for clause, end in zip(clauses, ends, strict=True):
        if end:
            marks[end - 1] = mark_number(clause)
            stops[end - 1] = clause.boundary is Boundary.MAJOR
    stops[-1:] = True
    heads: list[int] = []
    head = 0
    for clause, end in zip(clauses, ends, strict=True):
        heads += [head] * (end - len(heads))
        head = end if clause.paragraph else head
    where = [i for i, part in enumerate(spoken) for _ in part]
    capital = [int(tokens[i].text[0].isupper() and tokens[i].text != "I") for i in where]
    hints: Hints = network.read(words, marks, stops, np.array(capital, np.int64))
    tags = [network.tags[i] for i in hints.tags.tolist()]
    _mend_tags(words, tags)
    said_marks = marks.tolist()
    return Row(
        words,
        [
            ""
            if mark and before and word in members("discourse")
            else word.removesuffix("'s").removesuffix("s")
            for word, mark, before in zip(words, said_marks, [1, *said_marks], strict=False)
        ],
        tags,
        where,
        said_marks,
        hints.pause.tolist(),
        hints.beat.tolist(),
        list(map(sizes.__getitem__, words)),
        capital,
        ends,
        heads,
    )
