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

Runs = tuple[tuple[str, int], ...]
"""Letters as pairs of text and face."""

_MOST_COLUMNS: Final = 4
"""Of a list of words."""

_WITH_SPACE: Final = frozenset((PLAIN, BOLD))
"""Faces that look the same with the space behind a word as without."""


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

    above: list[tuple[float, str]]
    letters: list[list[Any]]
    below: list[tuple[float, str]]
    lines: list[tuple[float, float]]
    """Where lines stand under letters: one drawing for a row takes less than each by itself."""


class _Widths(NamedTuple):
    letters: float
    above: float
    below: float
    taken: float
    """The widest of them."""

    runs: Runs
    lines: tuple[tuple[float, float], ...]
    """Where a line stands under letters, from the beginning of the word, in sizes of them."""


_Cell = tuple[float, int, Sequence[Box], Sequence[_Widths]]
"""Words side by side: where the number before them stands, in points, the number, the words."""


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
            taken = [width.taken for width in widths]
            starts: list[int] = []
            if not self._wrapper.fits(taken, scale=self._scale):
                words = [box.word for box in boxes]
                starts = self._find_breaths(boxes, taken) or self._wrapper.wrap(
                    words, taken, scale=self._scale
                )
            for start, end in pairwise((0, *starts, len(boxes))):
                place = self._wrapper.indent(self._scale) if start else 0.0
                first = number if not rows else 0
                cell = place, first, boxes[start:end], widths[start:end]
                rows.append(self._make_row(1 if start else 2 if rows else 0, [cell]))
        return rows

    def _find_breaths(self, boxes: Sequence[Box], taken: Sequence[float]) -> list[int]:
        """The words behind the breaths where a line falls into rows that fit; none where it
        doesn't. In a row only the mark of a breath is soft."""
        starts = [0]
        places = [i for i, box in enumerate(boxes, 1) if box.runs and box.runs[-1][1] == SOFT]
        for left, right in pairwise((0, *places, len(boxes))):
            for start in (starts[-1], left):
                pushed = (self._wrapper.indent(self._scale),) * bool(start)
                if self._wrapper.fits((*pushed, *taken[start:right]), scale=self._scale):
                    break
            else:
                return []
            starts += [start] * (start > starts[-1])
        return starts[1:]

    def set_list(self, items: Sequence[tuple[int, Sequence[Box]]]) -> list[Row]:
        """The rows of short items with their numbers, side by side where there is room for
        several, row by row; none where there is not."""
        widths = [list(map(self._measure, boxes)) for _, boxes in items]
        space, gutter = self._wrapper.space(self._scale), self._sizes.gutter
        widest = max(
            sum(width.taken for width in item) + space * (len(item) - 1) for item in widths
        )
        columns = min(_MOST_COLUMNS, int(self._wrapper.width // (widest + gutter + 2 * space)))
        if columns < 2:
            return []
        stride = self._wrapper.width / columns
        cells = [
            (index % columns * stride, number, boxes, width)
            for index, ((number, boxes), width) in enumerate(zip(items, widths, strict=True))
        ]
        return [
            self._make_row(0, cells[start : start + columns])
            for start in range(0, len(cells), columns)
        ]

    def _measure(self, box: Box) -> _Widths:
        sizes = self._sizes
        above = below = 0.0
        width, runs, lines = _merge(box.runs)
        letters = width * sizes.reading
        if self._paired:
            above = _measure(box.original) * sizes.above + box.weak * _BREVE * sizes.small
        if self._ipa:
            below = _measure(box.ipa) * sizes.small
        return _Widths(letters, above, below, max(letters, above, below), runs, lines)

    def _make_row(self, where: int, cells: Iterable[_Cell]) -> Row:
        sizes, space = self._sizes, self._wrapper.space(self._scale)
        breve = _BREVE * sizes.small
        row = Row(where, [], [], [], [])
        # Where the last original and the last IPA end, and the gap before the next letters.
        above = below = end = gap = 0.0
        for start, number, boxes, widths in cells:
            gap += start - end
            place = start + sizes.gutter
            if number:
                row.letters.append([round(gap, 2), NUMBER, str(number)])
                gap = -measure(str(number)) * sizes.small
            gap += sizes.gutter
            for index, (box, width) in enumerate(zip(boxes, widths, strict=True)):
                if index:
                    gap = _add(row.letters, gap, PLAIN, " ")
                if self._paired and box.original:
                    row.above.append((round(place - above, 2), box.original))
                    above = place + width.above - box.weak * breve
                if self._paired and box.weak:
                    # Real letters, unlike the original before it: a screen reader has it too.
                    at = width.above - breve + 0.1 * sizes.reading
                    row.letters.append([round(gap + at, 2), BREVE, WEAK])
                    gap = -at - breve
                if self._ipa and box.ipa:
                    row.below.append((round(place - below, 2), box.ipa))
                    below = place + width.below
                for text, face in width.runs:
                    gap = _add(row.letters, gap, face, text)
                for left, right in width.lines:
                    ends = place + left * sizes.reading, place + right * sizes.reading
                    row.lines.append((round(ends[0], 2), round(ends[1], 2)))
                if box.linked:
                    # Under the gap; it takes no room, so that it stays with the word before.
                    row.letters.append([round(gap + space / 2, 2), TIE, LINK])
                    gap = -space / 2
                gap += width.taken - width.letters
                place += width.taken + space
            end = place - space
        return row


def _add(pieces: list[list[Any]], gap: float, face: int, text: str) -> float:
    """Add letters behind a gap; the gap that is left. A space joins what stands before it, and
    letters of one face are one."""
    if -0.01 < gap < 0.01 and pieces:
        last = pieces[-1]
        if last[1] in _WITH_SPACE and (text == " " or face == last[1]):
            last[2] += text
            return 0.0
    pieces.append([round(gap, 2), face, text])
    return 0.0


@lru_cache(maxsize=1 << 14)
def _merge(runs: Runs) -> tuple[float, Runs, tuple[tuple[float, float], ...]]:
    """The width of a word, its runs with what is underlined as bold and one with bold neighbours,
    and where the lines stand; all in sizes of its letters."""
    merged: list[tuple[str, int]] = []
    lines = []
    start = end = 0.0
    for text, face in runs:
        shown = BOLD if face == UNDERLINED else face
        before = merged.pop()[0] if merged and merged[-1][1] == shown == BOLD else ""
        if not before:
            start = end
        merged.append((before + text, shown))
        bold = shown in _BOLD
        end = start + (_ARROW * len(text) if face == TUNE else _measure(before + text, bold))
        if face == UNDERLINED:
            # Its first letter may be drawn nearer to the one before.
            lead = _measure(before + text[0], bold) - _measure(text[0], bold)
            lines.append((start + lead, end))
    return end, tuple(merged), tuple(lines)


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
