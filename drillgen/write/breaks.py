"""Where a line of words wraps on paper: balanced, by the widths of its letters.

The layout could measure this itself, but laying words out to see how wide they are takes
most of its time.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from itertools import accumulate
from operator import add
from typing import Final, NamedTuple

from drillgen.core.options import PageSize
from drillgen.core.resources import read_table
from drillgen.write.fonts import is_invisible

GAP: Final = 1.6
"""The space between words, in spaces of the font."""

SPACE: Final = 0.2
"""The space of the font, in sizes of its letters."""

CLOSER: Final = 0.92
"""Scale of the letters where that brings a version onto its page."""

_INDENT: Final = 1.2
_SAFETY: Final = 1.01
"""What the tables lack has no known width; a row that is taken to fit must fit."""

_UNKNOWN: Final = 650
_PAPER: Final = {PageSize.A4: 210 / 25.4 * 72, PageSize.LETTER: 612.0}
_MARGINS: Final = 40 / 25.4 * 72


class Print(NamedTuple):
    """Sizes of letters, in points."""

    reading: float
    above: float
    """The small originals: read at arm's length, so never small print."""

    small: float
    gutter: float
    """The column of the sentence numbers."""

    body: float
    headings: tuple[float, float, float, float]
    """By level; the first is that of the title."""


NORMAL: Final = Print(15.8, 9.6, 9, 20, 11, (22, 15, 12.5, 11))
LARGE: Final = Print(25, 18, 18, 26, 18, (32, 24, 21, 18))


_LEANING: Final = re.compile(
    "an?|the|of|to|in|on|at|by|for|from|with|and|or|but|my|your|his|her|its|our|their", re.I
)
"""Words that nobody ends a line with who sets it by hand."""

_OBJECT: Final = re.compile(r"(?:it|him|me|us|them)\b")
"""Words that nobody begins a row with."""

_CAPITAL: Final = re.compile("[A-Z][a-z]")


class Wrapper(NamedTuple):
    """Wraps lines of words."""

    sizes: Print
    room: float
    """Width of a line to read aloud, in points."""

    @property
    def width(self) -> float:
        """Of the page without its margins."""
        return self.room + self.sizes.gutter

    def fits(self, widths: Sequence[float], *, scale: float = 1) -> bool:
        """Whether words of these widths, in points, need no second row."""
        return _SAFETY * sum(widths) + self.space(scale) * (len(widths) - 1) <= self.room

    def wrap(
        self, words: Sequence[str], widths: Sequence[float], *, scale: float = 1
    ) -> list[int]:
        """Numbers of the words that begin a new row; none where the line fits.

        Two rows where they do, as even as can be, else rows of about one length. The widths are
        in points, `scale` is that of the letters.
        """
        if self.fits(widths, scale=scale):
            return []
        space = self.space(scale)
        taken = [_SAFETY * width + space for width in widths]
        total = sum(taken)
        pushed = self.indent(scale)
        firsts = list(accumulate(taken[:-1]))
        longer = min([max(first, total - first + pushed) for first in firsts], default=total)
        if longer - space <= self.room:
            # As many words in the first row as that leaves room for, but no "the" at its end, and
            # no name in two.
            best = bisect_right(firsts, longer)
            start = best
            while start > 1 and _belongs(words[start - 1], words[start]):
                start -= 1
            fits = total - firsts[start - 1] + pushed - space <= self.room
            return [start if fits and start > 1 else best]
        rows = total // (self.room - pushed) + 1
        limit = min(self.room, total / rows + max(taken) / 2 + pushed)
        starts, filled = [], 0.0
        for number, width in enumerate(taken):
            if number and filled + width - space > limit:
                starts.append(number)
                filled = pushed
            filled += width
        return starts

    def space(self, scale: float) -> float:
        """Between two words, in points."""
        return GAP * SPACE * scale * self.sizes.reading

    def indent(self, scale: float) -> float:
        """Of a row that goes on with a line, in points."""
        return _INDENT * scale * self.sizes.reading


def _belongs(left: str, right: str) -> bool:
    """Whether a word goes with the next one: "the", "of", the first part of "New York"."""
    name = _CAPITAL.match(left) and _CAPITAL.match(right) and left[-1].isalpha()
    return bool(name or _LEANING.fullmatch(left) or _OBJECT.match(right))


def make_wrapper(size: PageSize, large: bool) -> Wrapper:
    """The wrapper of a page."""
    sizes = LARGE if large else NORMAL
    return Wrapper(sizes, _PAPER[size] - _MARGINS - sizes.gutter)


@lru_cache(maxsize=1 << 14)
def measure(text: str, bold: bool = False) -> float:
    """The width of letters of one face, in sizes of the letters."""
    widths, kerning = _load_widths()[bold]
    pairs = map(add, text, text[1:])
    moved = sum([kerning.get(pair, 0) for pair in pairs])
    return (moved + sum([widths.get(c) or _find_width(c, widths) for c in text])) / 1000


def measure_strong(text: str) -> float:
    """The same of the semibold face, whose letters are as wide as half way to bold."""
    regular = measure(text)
    return regular + 0.513 * (measure(text, bold=True) - regular)


def _find_width(character: str, widths: Mapping[str, int]) -> int:
    """That of the letter below an accent, for what is not in the table; none of an emoji."""
    if is_invisible(character):
        return 0
    return widths.get(unicodedata.normalize("NFD", character)[0], _UNKNOWN)


@cache
def _load_widths() -> tuple[tuple[Mapping[str, int], Mapping[str, int]], ...]:
    """Character → thousandths of the size, and pair → what kerning adds to it; regular and bold.
    tools/make_widths.py made them."""
    rows = read_table("pdf_widths.tsv")
    kerning: tuple[dict[str, int], dict[str, int]] = ({}, {})
    for face, left, moved, rights in read_table("pdf_kerning.tsv"):
        kerning[int(face)].update(dict.fromkeys([left + right for right in rights], int(moved)))
    return tuple(
        ({chr(int(row[0], 16)): int(row[column]) for row in rows}, kerning[column - 1])
        for column in (1, 2)
    )
