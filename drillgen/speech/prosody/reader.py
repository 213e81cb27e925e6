"""Tokens to breath phrases, each with a tune, its grades of stress and its weak words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from drillgen.core.collector import CollectorPause
from drillgen.core.options import BREATH
from drillgen.core.values import Boundary, Clause, Grade, Phrase, Token, TokenKind, Tune
from drillgen.speech.prosody.breaths import find_breaths
from drillgen.speech.prosody.clauses import Joint, join_clauses
from drillgen.speech.prosody.grades import grade_phrase
from drillgen.speech.prosody.network import Network
from drillgen.speech.prosody.row import Row, Sizes, make_row
from drillgen.speech.prosody.tunes import tune_clause
from drillgen.speech.prosody.weakforms import WeakForm, load_weak_forms, weak_positions
from drillgen.speech.prosody.words import members


class Said(NamedTuple):
    """How a text is said."""

    phrases: tuple[Phrase, ...]
    weak: tuple[tuple[bool, ...], ...]
    """Per phrase and token, whether its (only) word is said in its weak form."""


class Prosody:
    """Reads texts as a person would; keeps what it has learned of their words."""

    def __init__(self, network: Network, forms: Mapping[str, WeakForm]) -> None:
        self.network: Final = network
        self._forms: Final = forms
        self._sizes: Final = Sizes()

    @classmethod
    def load(cls) -> Prosody:
        """What ships with drillgen."""
        return cls(Network.load(), load_weak_forms())

    def read(
        self, tokens: Sequence[Token], clauses: Sequence[Clause], breath: int = BREATH
    ) -> Said:
        """Breath phrases, whose tokens join to `tokens`. `clauses` are where marks close off
        the tokens; `breath` is the length of a group in syllables, passed only where syntax
        offers no place to breathe.
        """
        row = tuple(tokens)
        if not row:
            return Said((), ())
        with CollectorPause():
            return self._read(row, clauses, breath)

    def _read(self, tokens: tuple[Token, ...], clauses: Sequence[Clause], breath: int) -> Said:
        row = make_row(tokens, clauses, self.network, self._sizes)
        joints = join_clauses(row, clauses)
        phrases: list[Phrase] = []
        weak: list[tuple[bool, ...]] = []
        sentence = paragraph = first = start = opened = at = 0
        lines = _number_lines(clauses)
        for group in _find_groups(row, joints, breath):
            clause = clauses[group.clause] if group.clause >= 0 else None
            end = clause.end if clause else _before_openers(tokens, row.tokens[group.end])
            part = tokens[first:end]
            light = weak_positions(row, start, group.end, self._forms)
            grades = grade_phrase(row, start, group.end, group.tail, light)
            boundary, tune = Boundary.NONE, Tune.LEVEL
            if clause:
                boundary = clause.boundary
                tune = tune_clause(tokens, clauses, group.clause, joints[group.clause])
            places = [token - first for token in row.tokens[start : group.end]]
            graded, weakened = _by_token(len(part), places, light, grades)
            while row.ends[at] < group.end:
                at += 1
            line = lines[at]
            phrases.append(Phrase(part, boundary, tune, sentence, paragraph, graded, line))
            weak.append(weakened)
            first, start = end, group.end
            if boundary is Boundary.MAJOR and clause:
                paragraph += clause.paragraph
                goes_on = line > 0 and lines[at + 1 : at + 2] == [line]
                if not goes_on and not _leads(row.words[opened:start], part, clause):
                    sentence += 1
                    opened = start
        return Said(tuple(phrases), tuple(weak))


def _number_lines(clauses: Sequence[Clause]) -> list[int]:
    """Per clause, the number of its line of verse, from 1; 0 in prose. Verse is a paragraph whose
    lines are kept, and one of them goes on in the next: where each is a sentence, people talk."""
    lines: list[int] = []
    number = 1
    for end, clause in enumerate(clauses, 1):
        if clause.paragraph or end == len(clauses):
            part = clauses[len(lines) : end]
            verse = any(one.line and one.boundary is not Boundary.MAJOR for one in part)
            for one in part:
                lines.append(number * verse)
                number += one.line or one is clause
    return lines


def _leads(words: Sequence[str], tokens: Sequence[Token], clause: Clause) -> bool:
    """Whether a sentence is no more than a "Hi!" or "Yes." before another one in its line."""
    return (
        len(words) < 3
        and members("discourse").issuperset(words)
        and clause.marks != ""
        and not clause.paragraph
        and "\n" not in tokens[-1].text
    )


class _Group(NamedTuple):
    """A breath group: where it ends, in words."""

    end: int
    clause: int
    """Number of the clause that it ends with, or -1."""

    tail: int
    """The word that its tail begins with, or its end."""


def _find_groups(row: Row, joints: Sequence[Joint], breath: int) -> list[_Group]:
    """The groups of a text, in order."""
    groups: list[_Group] = []
    start = 0
    inner: dict[int, int] = {}
    tails: list[int] = []
    closed: list[int] = []
    for number, (end, joint) in enumerate(zip(row.ends, joints, strict=True)):
        if joint is Joint.SOFT:
            inner[end] = number
            continue
        if joint is Joint.TAIL:
            tails.append(end)
            continue
        if joint is Joint.CLOSED:
            closed.append(end)
            continue
        for place in (*find_breaths(row, start, end, breath, (*tails, *closed)), end):
            tail = min((t for t in tails if start < t < place), default=place)
            groups.append(_Group(place, number if place == end else inner.get(place, -1), tail))
            start = place
        inner.clear()
        tails.clear()
        closed.clear()
        start = end
    return groups


def _by_token(
    size: int, places: Sequence[int], light: Sequence[bool], grades: Sequence[Grade]
) -> tuple[tuple[tuple[Grade, ...], ...], tuple[bool, ...]]:
    """Per token of `size` the grades of its words, and whether its only word is weak; `places`
    has the token of each word."""
    graded: list[tuple[Grade, ...]] = [()] * size
    weak = [False] * size
    # A number may be thousands of words.
    several: dict[int, list[Grade]] = {}
    for place, may_be, grade in zip(places, light, grades, strict=True):
        if graded[place]:
            several.setdefault(place, list(graded[place])).append(grade)
            weak[place] = False
        else:
            graded[place] = _ALONE[grade]
            weak[place] = may_be and grade is _NONE
    for place, row in several.items():
        graded[place] = tuple(row)
    return tuple(graded), tuple(weak)


# Members of an enum take five times as long to look up as names of a module (Python 3.11).
_NONE: Final = Grade.NONE
_ALONE: Final = {grade: (grade,) for grade in Grade}


def _before_openers(tokens: Sequence[Token], i: int) -> int:
    """Opening quotes and brackets go with the word that they open."""
    while (
        i > 0
        and tokens[i - 1].kind is TokenKind.PUNCTUATION
        and tokens[i - 1].text[0] in "\"“‘'([«"
    ):
        i -= 1
    return i
