"""Rows of words to read aloud, as the printed page has them: what stands where.

The small originals stand above the words, in a line of their own; so a row is two or three
lines of letters with gaps between them, and the typesetter need not put each word in a box.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final, NamedTuple

from drillgen.core.document import LINK, WEAK
from drillgen.write.breaks import GAP, SPACE, Wrapper, measure, measure_strong

PLAIN, BOLD, UNDERLINED, TIE, STRONG, SOFT, TUNE, NUMBER, BREVE = range(9)
"""Numbers of the faces in the layout."""

_BOLD: Final = frozenset((BOLD, UNDERLINED, STRONG))

_ARROW: Final = 0.602 + 0.06
"""Width of an arrow of the tune, which is of the fallback font, and of the gap behind it."""

_BREVE: Final = 0.76
"""Width of a breve, which is larger than small print."""

_LINK: Final = 0.95
"""Width of a tie in running text, where it has a box."""

_WORDS: Final = re.compile("[^ ]+ *| +")

Runs = list[list[Any]]
"""Letters as pairs of text and face."""

Piece = str | float | list[Any]
"""In a row: plain letters, a gap in points, letters of another face."""


class Box(NamedTuple):
    """A word, or the part of a long one that stays in one row."""

    original: str
    runs: Runs
    ipa: str = ""
    weak: bool = False
    linked: bool = False

    @property
    def word(self) -> str:
        """As it was written: its original stands above, or its letters do."""
        return self.original or "".join([text for text, _ in self.runs])


class Row(NamedTuple):
    """A row and its lines of letters: above, in the middle, below."""

    where: int
    """Whether it begins the sentence (0), goes on with a line (1), or begins another (2)."""

    above: list[Piece]
    letters: list[Piece]
    below: list[Piece]


class _Widths(NamedTuple):
    letters: float
    above: float
    below: float


class Setter:
    """Sets lines of words; `scale` is that of the letters."""

    def __init__(self, wrapper: Wrapper, paired: bool, ipa: bool, scale: float = 1) -> None:
        self._wrapper = wrapper
        self._scale = scale
        self._paired = paired
        self._ipa = ipa
        sizes = wrapper.sizes
        above = max(sizes.small, scale * sizes.above)
        self._sizes = sizes._replace(reading=scale * sizes.reading, above=above)

    def set_lines(self, lines: Iterable[Sequence[Box]], number: int) -> list[Row]:
        """The rows of a sentence, its number in the margin of the first."""
        rows: list[Row] = []
        for boxes in lines:
            widths = list(map(self._measure, boxes))
            taken = list(map(max, widths))
            starts: list[int] = []
            if not self._wrapper.fits(taken, scale=self._scale):
                words = [box.word for box in boxes]
                starts = self._wrapper.wrap(words, taken, scale=self._scale)
            for start, end in pairwise((0, *starts, len(boxes))):
                row = Row(
                    1 if start else 2 if rows else 0, [], self._margin(rows, number, start), []
                )
                self._fill(row, boxes[start:end], widths[start:end])
                rows.append(row)
        return rows

    def _measure(self, box: Box) -> _Widths:
        sizes = self._sizes
        letters = above = below = 0.0
        for text, face in box.runs:
            letters += _ARROW * len(text) if face == TUNE else _measure(text, face in _BOLD)
        if self._paired:
            above = _measure(box.original) * sizes.above + box.weak * _BREVE * sizes.small
        if self._ipa:
            below = _measure(box.ipa) * sizes.small
        return _Widths(letters * sizes.reading, above, below)

    def _margin(self, rows: Sequence[Row], number: int, start: int) -> list[Piece]:
        sizes = self._wrapper.sizes
        indent = sizes.gutter + (self._wrapper.indent(self._scale) if start else 0)
        if rows or not number:
            return [indent]
        return [[str(number), NUMBER], indent - measure(str(number)) * sizes.small]

    def _fill(self, row: Row, boxes: Sequence[Box], widths: Sequence[_Widths]) -> None:
        sizes, space = self._sizes, self._wrapper.space(self._scale)
        place = sizes.gutter + (self._wrapper.indent(self._scale) if row.where == 1 else 0)
        above = below = 0.0
        pieces, plain = row.letters, ""
        for number, (box, width) in enumerate(zip(boxes, widths, strict=True)):
            if number:
                plain += " "
            if self._paired and box.original:
                row.above.extend((round(place - above, 2), box.original))
                above = place + width.above - box.weak * _BREVE * sizes.small
            if self._paired and box.weak:
                # Real letters, unlike the original before it, so that a screen reader has it too.
                at = width.above - _BREVE * sizes.small + 0.1 * sizes.reading
                back = at + _BREVE * sizes.small
                plain = _add(pieces, plain, round(at, 2), [WEAK, BREVE], round(-back, 2))
            if self._ipa and box.ipa:
                row.below.extend((round(place - below, 2), box.ipa))
                below = place + width.below
            for text, face in box.runs:
                plain = plain + text if face == PLAIN else _add(pieces, plain, [text, face])
            taken = max(width)
            rest = taken - width.letters
            if box.linked:
                # Under the gap; it takes no room, so that it stays with the word before.
                half = space / 2
                plain = _add(pieces, plain, round(half, 2), [LINK, TIE])
                rest -= half
            if abs(rest) > 0.01:
                plain = _add(pieces, plain, round(rest, 2))
            place += taken + space
        _add(pieces, plain)


def _add(pieces: list[Piece], plain: str, *more: Piece) -> str:
    """Add plain letters, if any, and other pieces; the plain letters that are left, none."""
    if plain:
        pieces.append(plain)
    pieces.extend(more)
    return ""


def count_lines(runs: Iterable[Sequence[Any]], size: float, room: float) -> int:
    """The lines that running text of letters with their faces takes: it breaks at spaces.

    >>> count_lines([("Mind the ", PLAIN), ("gap.", STRONG)], 10, 50)
    2
    """
    lines, filled, word = 1, 0.0, 0.0
    for text, face in (*runs, (" ", PLAIN)):
        for part in _WORDS.findall(text):
            bare = part.rstrip(" ")
            word += size * (_measure_face(bare, face) + _LINK * bare.count(LINK))
            if part == bare:
                continue
            if filled and filled + word > room:
                lines, filled = lines + 1, 0.0
            lines += int(word // room)
            filled += word + SPACE * size
            word = 0.0
    return lines


def _measure_face(text: str, face: int) -> float:
    return measure_strong(text) if face == STRONG else measure(text, face in _BOLD)


@lru_cache(maxsize=1 << 14)
def _measure(text: str, bold: bool = False) -> float:
    """The width of letters in sizes of the letters: a space in a row is a gap between words."""
    return measure(text, bold) + (GAP - 1) * SPACE * text.count(" ")
