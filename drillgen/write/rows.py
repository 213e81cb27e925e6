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

    above: list[list[Any]]
    letters: list[list[Any]]
    below: list[list[Any]]


class _Line:
    """Letters of one baseline, each with the gap before it, in points, and its face."""

    def __init__(self) -> None:
        self.pieces: list[list[Any]] = []
        self._gap = 0.0
        self._place = 0.0

    def skip(self, gap: float) -> None:
        """Leave a gap, or step back."""
        self._gap += gap

    def add(self, face: int, text: str) -> None:
        """Add letters. A space joins what stands before it, and letters of one face are one."""
        gap = self._gap
        if -0.01 < gap < 0.01 and self.pieces:
            last = self.pieces[-1]
            if last[1] in _WITH_SPACE and (text == " " or face == last[1]):
                last[2] += text
                return
        self.pieces.append([round(gap, 2), face, text])
        self._gap = 0.0

    def put(self, place: float, text: str, width: float) -> None:
        """Add letters of a width at a place."""
        self.pieces.append([round(place - self._place, 2), text])
        self._place = place + width


class _Widths(NamedTuple):
    letters: float
    above: float
    below: float


class _Cell(NamedTuple):
    """Words that stand side by side, with the number before them."""

    place: float
    """Where the number stands, in points."""

    number: int
    boxes: Sequence[Box]
    widths: Sequence[_Widths]


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
                place = self._wrapper.indent(self._scale) if start else 0.0
                first = number if not rows else 0
                cell = _Cell(place, first, boxes[start:end], widths[start:end])
                rows.append(self._make_row(1 if start else 2 if rows else 0, [cell]))
        return rows

    def set_list(self, items: Sequence[tuple[int, Sequence[Box]]]) -> list[Row]:
        """The rows of short items with their numbers, side by side where there is room for
        several, row by row; none where there is not."""
        widths = [list(map(self._measure, boxes)) for _, boxes in items]
        space, gutter = self._wrapper.space(self._scale), self._sizes.gutter
        widest = max(sum(map(max, item)) + space * (len(item) - 1) for item in widths)
        columns = min(_MOST_COLUMNS, int(self._wrapper.width // (widest + gutter + 2 * space)))
        if columns < 2:
            return []
        stride = self._wrapper.width / columns
        cells = [
            _Cell(index % columns * stride, number, boxes, width)
            for index, ((number, boxes), width) in enumerate(zip(items, widths, strict=True))
        ]
        return [
            self._make_row(0, cells[start : start + columns])
            for start in range(0, len(cells), columns)
        ]

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

    def _make_row(self, where: int, cells: Iterable[_Cell]) -> Row:
        sizes, space = self._sizes, self._wrapper.space(self._scale)
        breve = _BREVE * sizes.small
        above, letters, below = _Line(), _Line(), _Line()
        end = 0.0
        for cell in cells:
            place = cell.place + sizes.gutter
            letters.skip(cell.place - end)
            if cell.number:
                letters.add(NUMBER, str(cell.number))
                letters.skip(-measure(str(cell.number)) * sizes.small)
            letters.skip(sizes.gutter)
            for index, (box, width) in enumerate(zip(cell.boxes, cell.widths, strict=True)):
                if index:
                    letters.add(PLAIN, " ")
                if self._paired and box.original:
                    above.put(place, box.original, width.above - box.weak * breve)
                if self._paired and box.weak:
                    # Real letters, unlike the original before it: a screen reader has it too.
                    at = width.above - breve + 0.1 * sizes.reading
                    letters.skip(at)
                    letters.add(BREVE, WEAK)
                    letters.skip(-at - breve)
                if self._ipa and box.ipa:
                    below.put(place, box.ipa, width.below)
                for text, face in box.runs:
                    letters.add(face, text)
                taken = max(width)
                if box.linked:
                    # Under the gap; it takes no room, so that it stays with the word before.
                    letters.skip(space / 2)
                    letters.add(TIE, LINK)
                    letters.skip(-space / 2)
                letters.skip(taken - width.letters)
                place += taken + space
            end = place - space
        return Row(where, above.pieces, letters.pieces, below.pieces)


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
