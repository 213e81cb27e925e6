"""Clauses to breath phrases, with a boundary and a tune for each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import accumulate
from operator import itemgetter
from typing import Final, NamedTuple

from drillgen.core.collector import CollectorPause
from drillgen.core.values import Boundary, Clause, Phrase, Token, TokenKind, Tune
from drillgen.speech.prosody.grades import grade_phrase
from drillgen.speech.prosody.tunes import tune_clause
from drillgen.speech.prosody.words import CLAUSE_WORDS, CLINGING, PREPOSITIONS

MAX_WORDS: Final = 9
MAX_SYLLABLES: Final = 12
"""A phrase that is longer than both allow is split where one can breathe (common practice:
a slow reader's comfortable breath group)."""

_LONG_WORDS: Final = 13
"""From here on, a phrase is split before "of" too."""

_MIN_WORDS: Final = 3
"""No breath split leaves a part shorter than this."""

_SYLLABLE: Final = re.compile("[aeiouy]+")
_SILENT: Final = re.compile(
    r"[aeiouy][^aeiouy\s]*[^aeiouyl\s]es?\b|[aeiouy][^aeiouy\s]*[^aeiouytd\s]ed\b"
)


class _Cut(NamedTuple):
    """Where a phrase ends."""

    end: int
    boundary: Boundary
    tune: Tune
    comma: bool = False
    paragraph: bool = False
    """A new paragraph begins after it."""


_SPOKEN = itemgetter(4)
_COMMAS: Final = frozenset({",", "，", "、"})


def split_phrases(tokens: Sequence[Token], clauses: Sequence[Clause]) -> tuple[Phrase, ...]:
    """Breath phrases. Their tokens join to the tokens that were given.

    `clauses` are where marks close off the tokens. A phrase of a single word joins its
    neighbour, and one that is longer than a breath is split.
    """
    row = tuple(tokens)
    if not row:
        return ()
    with CollectorPause():
        said = list(accumulate(map(len, map(_SPOKEN, row)), initial=0))
        cuts = []
        for clause in clauses:
            end, boundary, marks, _, new_paragraph = clause
            tune = tune_clause(row, clause)
            cuts.append(_Cut(end, boundary, tune, marks[:1] in _COMMAS, new_paragraph))
        cuts = _breathe(row, said, _join_short(row, said, cuts))
        phrases = []
        start = sentence = paragraph = 0
        for end, boundary, tune, _, new_paragraph in cuts:
            part = row[start:end]
            phrases.append(Phrase(part, boundary, tune, sentence, paragraph, grade_phrase(part)))
            start = end
            if boundary is Boundary.MAJOR:
                sentence += 1
                paragraph += new_paragraph
        return tuple(phrases)


def _is_short(row: tuple[Token, ...], words: int, start: int, end: int) -> bool:
    """One word as it is written: "etc." is one, though two are said."""
    return words < 2 or (words < 4 and sum(1 for token in row[start:end] if token[4]) < 2)


def _join_short(row: tuple[Token, ...], said: list[int], cuts: list[_Cut]) -> list[_Cut]:
    """No phrase of a single word before or after a comma: "yes, I do"; "red, white, blue"."""
    joined: list[_Cut] = []
    start = before = 0
    for cut in cuts:
        if joined and joined[-1].comma and joined[-1].boundary is Boundary.MINOR:
            previous = said[start] - said[before]
            here = said[cut.end] - said[start]
            if previous + here < MAX_WORDS and (
                _is_short(row, here, start, cut.end) or _is_short(row, previous, before, start)
            ):
                joined[-1] = cut
                start = cut.end
                continue
        joined.append(cut)
        before, start = start, cut.end
    return joined


def count_syllables(words: str) -> int:
    """Syllables of spoken words, estimated from their letters. Good enough to breathe by.

    >>> count_syllables("the harbour lights were late")
    6
    """
    return len(_SYLLABLE.findall(words)) - len(_SILENT.findall(words))


def _breathe(row: tuple[Token, ...], said: list[int], cuts: list[_Cut]) -> list[_Cut]:
    """Add a breath where a phrase is too long for one."""
    result: list[_Cut] = []
    start = 0
    for cut in cuts:
        words = said[cut.end] - said[start]
        # 12 syllables are hardly ever written in fewer than 36 characters.
        if words > _MIN_WORDS and (
            words > MAX_WORDS or row[cut.end - 1][2] - row[start][1] > 3 * MAX_SYLLABLES
        ):
            result += [
                _Cut(end, Boundary.NONE, Tune.LEVEL) for end in _find_breaths(row, start, cut.end)
            ]
        result.append(cut)
        start = cut.end
    return result


def _find_breaths(row: tuple[Token, ...], start: int, end: int) -> list[int]:
    """Places inside a phrase where a new breath begins, in order."""
    spots = [i for i in range(start, end) if row[i][4]]
    spoken = [" ".join(row[i][4]) for i in spots]
    # Letters are as good as syllables to find the middle, and cheaper.
    sums = list(accumulate(map(len, spoken), initial=0))
    breaths: list[int] = []
    stack = [(0, len(spots))]
    while stack:
        low, high = stack.pop()
        if high - low <= MAX_WORDS and (
            high - low < 7 or count_syllables(" ".join(spoken[low:high])) <= MAX_SYLLABLES + 2
        ):
            continue
        best = _choose_breath(spoken, sums, low, high)
        if best:
            breaths.append(spots[best])
            stack += [(low, best), (best, high)]
    # Opening quotes and brackets go with the word that they open.
    return sorted(_before_openers(row, i) for i in breaths)


def _choose_breath(words: list[str], sums: list[int], low: int, high: int) -> int:
    """The best word to start a new breath with, or 0: near the middle, and before a word
    that opens a clause rather than a preposition."""
    best, best_cost = 0, 1.0e9
    half = (sums[low] + sums[high]) / 2
    total = sums[high] - sums[low]
    # A stretch that nobody can say in one breath is split even before a plain word.
    desperate = high - low > 2 * MAX_WORDS
    for i in range(low + _MIN_WORDS, high - _MIN_WORDS + 1):
        word = words[i]
        if words[i - 1] in CLINGING:
            continue
        if word in CLAUSE_WORDS:
            cost = 0.0
        elif word == "of":
            # Nobody parts "a glass of water" for want of a better place, unless it is long.
            if high - low < _LONG_WORDS:
                continue
            cost = 0.25
        elif word in PREPOSITIONS:
            cost = 0.1
        elif desperate:
            cost = 0.5
        else:
            continue
        cost += abs(sums[i] - half) / total
        if cost < best_cost:
            best, best_cost = i, cost
    return best


def _before_openers(row: tuple[Token, ...], i: int) -> int:
    while i > 0 and row[i - 1].kind is TokenKind.PUNCTUATION and row[i - 1].text[0] in "\"“‘'([«":
        i -= 1
    return i
