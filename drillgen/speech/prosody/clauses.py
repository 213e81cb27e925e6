"""How clauses go together: which marks end a phrase, and which only may."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum, auto
from typing import Final

from drillgen.core.values import Boundary, Clause
from drillgen.speech.prosody.row import COMMAS, Row
from drillgen.speech.prosody.words import (
    ARTICLES,
    AUXILIARIES,
    BE,
    CLAUSE_WORDS,
    OBJECTS,
    SUBJECTS,
    members,
)


class Joint(Enum):
    """What stands between a clause and the next one."""

    END = auto()
    """A phrase ends here."""

    SOFT = auto()
    """A comma: a phrase ends here if a reader would pause."""

    TAIL = auto()
    """No phrase ends here: what follows is a tail, said on in passing ("..., Tom")."""

    CLOSED = auto()
    """No phrase ends here: a comma between two adjectives of a noun."""

    ITEM = auto()
    """An item of a list ends here, and others follow."""

    LEAD = auto()
    """A phrase ends here, and a tag or a reporting clause follows."""


_QUOTES: Final = frozenset('"”’»')
_TAIL_WORDS: Final = 3
_ITEM_WORDS: Final = 4
_COARSE: Final = {
    "NNS": "NN", "NNP": "NN", "NNPS": "NN", "VBG": "VB", "VBD": "VB", "VBN": "VB", "VBP": "VB",
    "VBZ": "VB", "JJR": "JJ", "JJS": "JJ", "CD": "NN",
}  # fmt: skip


_MIXED: Final = frozenset({"NN", "JJ", "RB"})


def join_clauses(row: Row, clauses: Sequence[Clause]) -> list[Joint]:
    """What stands after each clause."""
    joints: list[Joint] = []
    starts = [0, *row.ends[:-1]]
    for k, clause in enumerate(clauses):
        if clause.boundary is not Boundary.MINOR or clause.line or k + 1 == len(clauses):
            joints.append(Joint.END)
            continue
        start, end = row.ends[k], row.ends[k + 1]
        comma = clause.marks[:1] in COMMAS and clause.marks != ""
        reports = _reports(row, clause, start, end)
        if is_tag(row.words[start:end], clauses[k + 1].marks):
            joints.append(Joint.LEAD)
        elif reports and (comma and end - start <= _TAIL_WORDS):
            joints.append(Joint.TAIL if row.ends[k] - starts[k] < 8 else Joint.LEAD)
        elif reports:
            joints.append(Joint.LEAD if comma else Joint.END)
        elif _is_inserted(row, clauses, starts, k):
            joints.append(Joint.CLOSED)
        elif not comma:
            joints.append(Joint.END)
        elif _is_vocative(row, start, end, clauses[k + 1]):
            joints.append(Joint.TAIL)
        elif _is_described(row, start) or _is_lone(row, starts[k], start, end, clauses[k + 1]):
            joints.append(Joint.CLOSED)
        else:
            joints.append(Joint.SOFT)
    _mark_lists(row, joints, starts)
    return joints


def is_tag(words: Sequence[str], marks: str) -> bool:
    """Whether a clause is a question tag: "isn't it?", "will you not?"."""
    return (
        (len(words) == 2 or (len(words) == 3 and words[2] == "not"))
        and "?" in marks
        and words[0] in AUXILIARIES
        and words[1] in SUBJECTS
    )


def _reports(row: Row, clause: Clause, start: int, end: int) -> bool:
    """Whether a clause tells who said what stands before it: said Ruth, she asked."""
    if end - start > 6 or _QUOTES.isdisjoint(clause.marks):
        return False
    words = row.words[start:end]
    tags = row.tags[start:end]
    told = tags[0] in ("VBD", "VBN") and tags[1:2] in (["NNP"], ["PRP"], ["DT"], ["PRP$"])
    return (
        told
        or words[0] in members("saying")
        or any(word in members("saying") for word in words[1:4])
    )


def _is_inserted(row: Row, clauses: Sequence[Clause], starts: Sequence[int], k: int) -> bool:
    """Whether a clause ends at a bracket around a word or two inside a phrase that belongs
    together: "the (very) old man"."""
    inside = k if clauses[k].marks == ")" else k + 1
    start, end = starts[inside], row.ends[inside]
    return (
        0 < inside < len(clauses) - 1
        and clauses[inside].marks == ")"
        and clauses[inside - 1].marks == "("
        and end - start < 3
        and row.tags[start - 1] in _LEADING
    )


_LEADING: Final = frozenset({"DT", "PRP$", "POS", "JJ", "JJR", "JJS", "IN", "TO", "CD", "MD"})
"""Tags of words that the next word belongs to."""


def _is_vocative(row: Row, start: int, end: int, clause: Clause) -> bool:
    """Whether a clause at the end of a sentence only calls somebody: ", Tom."."""
    known = "-".join(row.words[start:end]) in members("tails")
    if clause.boundary is not Boundary.MAJOR or known or end - start > 2:
        return known and clause.boundary is Boundary.MAJOR
    comment = row.words[start] in ("i", "you") and row.words[end - 1] in members("comments")
    if comment and end - start == 2 and row.words[start - 1] not in members("discourse"):
        # ", I suppose."
        return True
    if row.words[end - 1] in members("vocatives"):
        # Not ", and love."
        return row.words[start] not in CLAUSE_WORDS | ARTICLES or end - start == 1
    # "In Tampico, Mexico": a place within a place.
    placed = row.capital[start - 1] and row.tags[start - 1] in ("NNP", "NNPS") and start > 1
    # "See you on Thursday, Bea"
    placed = placed and row.words[start - 1] not in members("times")
    # "My wife, Sarah": who she is.
    told = (
        row.words[start - 1] in members("relations")
        and row.tags[start - 2] == "PRP$"
        and start > 1
    )
    return all(row.capital[start:end]) and row.words[start] not in OBJECTS and not (placed or told)


def _is_described(row: Row, i: int) -> bool:
    """Whether a comma stands between two adjectives of a noun: "the big, bad wolf"."""
    tags = row.tags[i - 1 : i + 2]
    return (
        tags[:2] == ["JJ", "JJ"]
        and tags[2:] in (["NN"], ["NNS"])
        and i > 1
        and row.tags[i - 2] not in ("NN", "NNS", "NNP", "CC")
        and row.words[i - 2] not in BE
        and not row.marks[i]
    )


def _is_lone(row: Row, before: int, start: int, end: int, clause: Clause) -> bool:
    """Whether a conjunction is all that stands on one side of a comma: "and, of course, tea", or
    where a line of verse ends with it: "and on, until"."""
    then = end - start == 1 and clause.marks == "" and row.words[start] in CLAUSE_WORDS
    return then or (start - before == 1 and row.words[before] in ("and", "but", "or", "nor"))


def _mark_lists(row: Row, joints: list[Joint], starts: Sequence[int]) -> None:
    """Commas between the items of a list: "bread, eggs, milk and tea"."""
    k = 0
    while k < len(joints):
        last = k
        while last < len(joints) and joints[last] is Joint.SOFT:
            last += 1
        if last > k and last < len(joints):
            _mark_list(row, joints, starts, k, last)
        k = max(last, k + 1)


def _mark_list(row: Row, joints: list[Joint], starts: Sequence[int], k: int, last: int) -> None:
    """The last run of short clauses before `last`, if they are of one kind."""
    words = row.words[starts[last] : row.ends[last]]
    joined = next((i for i, word in enumerate(words) if word in ("and", "or")), -1)
    if joined > _ITEM_WORDS or (joined < 0 and len(words) > _ITEM_WORDS):
        # "Tea, coffee, long walks in the hills ...", but "yes, no, well in that case ..."
        item, lone = row.ends[last - 1] - 1, row.ends[last - 1] - starts[last - 1] == 1
        if (
            not lone
            or _kind(row, item) not in ("NN", "JJ")
            or row.words[item] in members("discourse")
        ):
            return
        joined = -1
    single = joined >= 0 or len(words) == 1
    first, kind = last - 1, _kind(row, row.ends[last - 1] - 1)
    while first > k and row.ends[first] - starts[first] <= _ITEM_WORDS:
        before = _kind(row, row.ends[first - 1] - 1)
        lone = single and row.ends[first - 1] - starts[first - 1] == 1
        # A tagger may take one of several adjectives for a noun: "kind, clever, ..."
        mixed = single and row.ends[first] - starts[first] == 1 and {before, kind} <= _MIXED
        if not (before == kind or lone or mixed):
            break
        first -= 1
    # "A, b and c", where "and" stands inside the last clause, has one comma.
    alike = joined > 0 and (
        _kind(row, starts[last] + joined - 1) == kind
        or (joined == 1 and row.ends[last - 1] - starts[last - 1] == 1)
    )
    if last - first >= (1 if alike else 2):
        joints[first:last] = [Joint.ITEM] * (last - first)


def _kind(row: Row, i: int) -> str:
    return _COARSE.get(row.tags[i], row.tags[i])
