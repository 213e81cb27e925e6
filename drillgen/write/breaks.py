"""Where a line of words wraps on paper: balanced, by the widths of its letters.

The layout could measure this itself, but laying words out to see how wide they are takes
most of its time.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from itertools import accumulate
from typing import Any, Final, NamedTuple

from drillgen.core.options import PageSize
from drillgen.core.resources import read_table

GAP: Final = 1.6
"""The space between words, in spaces of the font."""

CLOSER: Final = 0.92
"""Scale of the letters where that brings a version onto its page."""

_INDENT: Final = 1.2
_SAFETY: Final = 1.01
"""Kerning is not in the widths; a row that is taken to fit must fit."""

_UNKNOWN: Final = 650
_PAPER: Final = {PageSize.A4: 210 / 25.4 * 72, PageSize.LETTER: 612.0}
_MARGINS: Final = 40 / 25.4 * 72


class Print(NamedTuple):
    """Sizes of what is read aloud, in points."""

    reading: float
    above: float
    """The small originals: read at arm's length, so never small print."""

    small: float
    gutter: float
    """The column of the sentence numbers."""


NORMAL: Final = Print(15.8, 9.6, 9, 20)
LARGE: Final = Print(25, 18, 18, 26)


_LEANING: Final = re.compile(
    "an?|the|of|to|in|on|at|by|for|from|with|and|or|but|my|your|his|her|its|our|their", re.I
)
"""Words that nobody ends a line with who sets it by hand."""

_CAPITAL: Final = re.compile("[A-Z][a-z]")


class Wrapper(NamedTuple):
    """Wraps lines of word boxes: original, letters as pairs of text and face, IPA, weak."""

    sizes: Print
    room: float
    """Width of a line, in points."""

    bold: frozenset[int]
    """Faces that are set bold."""

    thin: frozenset[int]
    """Faces that take no room."""

    def wrap(
        self, boxes: Sequence[Sequence[Any]], *, paired: bool, ipa: bool, scale: float = 1
    ) -> list[int]:
        """Numbers of the boxes that begin a new row; none where the line fits.

        Two rows where they do, as even as can be, else rows of about one length.
        """
        space = GAP * 0.2 * scale * self.sizes.reading
        widths = [_SAFETY * self._measure(box, paired, ipa, scale) + space for box in boxes]
        total = sum(widths)
        if total - space <= self.room:
            return []
        pushed = _INDENT * scale * self.sizes.reading
        firsts = list(accumulate(widths[:-1]))
        longer = min([max(first, total - first + pushed) for first in firsts], default=total)
        if longer - space <= self.room:
            # As many words in the first row as that leaves room for, but no "the" at its end, and
            # no name in two.
            best = bisect_right(firsts, longer)
            start = best
            while start > 1 and _belongs(boxes[start - 1], boxes[start]):
                start -= 1
            fits = total - firsts[start - 1] + pushed - space <= self.room
            return [start if fits and start > 1 else best]
        rows = total // (self.room - pushed) + 1
        limit = min(self.room, total / rows + max(widths) / 2 + pushed)
        starts, filled = [], 0.0
        for number, width in enumerate(widths):
            if number and filled + width - space > limit:
                starts.append(number)
                filled = pushed
            filled += width
        return starts

    def _measure(self, box: Sequence[Any], paired: bool, ipa: bool, scale: float) -> float:
        original, runs, sounds, weak = box
        sizes = self.sizes
        letters = sum(
            _width_of(text, face in self.bold) for text, face in runs if face not in self.thin
        )
        widths = [letters * scale * sizes.reading]
        if paired:
            above = max(sizes.small, scale * sizes.above)
            widths.append(_width_of(original, False) * above + weak * 0.9 * sizes.small)
        if ipa:
            widths.append(_width_of(sounds, False) * sizes.small)
        return max(widths)


def _belongs(left: Sequence[Any], right: Sequence[Any]) -> bool:
    """Whether a word goes with the next one: "the", "of", the first part of "New York"."""
    words = _read(left), _read(right)
    name = all(map(_CAPITAL.match, words)) and words[0][-1].isalpha()
    return name or bool(_LEANING.fullmatch(words[0]))


def _read(box: Sequence[Any]) -> str:
    """The word of a box: its original stands above, or its letters do."""
    original, runs, *_ = box
    return str(original or "".join([text for text, _ in runs]))


def make_wrapper(
    size: PageSize, large: bool, *, bold: Iterable[int], thin: Iterable[int]
) -> Wrapper:
    """The wrapper of a page."""
    sizes = LARGE if large else NORMAL
    room = _PAPER[size] - _MARGINS - sizes.gutter
    return Wrapper(sizes, room, frozenset(bold), frozenset(thin))


def _width_of(text: str, bold: bool) -> float:
    """In sizes of the letters."""
    table = _load_widths()[bold]
    return sum([table.get(character, _UNKNOWN) for character in text]) / 1000


@cache
def _load_widths() -> tuple[Mapping[str, int], Mapping[str, int]]:
    """Character → thousandths of the size, regular and bold; tools/make_widths.py made them."""
    rows = read_table("pdf_widths.tsv")
    regular = {chr(int(code, 16)): int(width) for code, width, _ in rows}
    return regular, {chr(int(code, 16)): int(width) for code, _, width in rows}
