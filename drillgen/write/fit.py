"""Where versions stand on their pages, and the white space that gives way so that one keeps to
its page.

All by numbers of lines and rows: to have the typesetter measure takes as long as to set. The
measures are those of templates/typst/document.typ; a test compares them with what it sets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

from drillgen.core.options import PageSize
from drillgen.write.breaks import CLOSER, Print

CAPITAL: Final = 0.66
"""Height of a line, that of a capital letter, in sizes of its letters."""

LEADING: Final = 0.62
"""Between two lines of running text."""

_LEAST: Final = 0.12
"""White space of a version, at least, in shares of the usual."""

_FEWEST: Final = 3
"""Rows of a log that may stand below a version."""

_MOST: Final = 2
"""Rows of a log where there is room, in shares of those that were asked for."""

_MM: Final = 72 / 25.4
_PAPER: Final = {PageSize.A4: 297 * _MM, PageSize.LETTER: 792.0}
_MARGINS: Final = 28 * _MM
_BELOW_HEADINGS: Final = (0.75 / 1.4, 0.75 / 1.2, 0.75, 0.75)
"""The typesetter's own room below a heading, by level."""

_AFTER_LOG: Final = 6.4
_BEFORE_LOG: Final = 2.6
"""Room around a log, in units."""


class Sentence(NamedTuple):
    """What tells the height of a sentence."""

    opens: bool
    """It opens a paragraph."""

    rows: int
    lines: int


class Look(NamedTuple):
    """What tells the height of a row."""

    paired: bool
    ipa: bool
    scale: float = 1


Readings = Sequence[tuple[Look, Sequence[Sentence]]]


class Head(NamedTuple):
    """What stands over a version, or belongs to it, in points."""

    height: float
    note: bool
    """The sentences follow a note."""

    feet: tuple[float, ...] = ()
    """What stands at the foot of its page; in large print a part that stays whole each."""

    log: int | None = None
    """Rows of the log that follows."""

    tied: int = 0
    """Sentences at the end that go to the page of the log."""

    @property
    def foot(self) -> float:
        """All that stands at the foot."""
        return sum(self.feet)


class Spot(NamedTuple):
    """How far a page is filled, and what is taken at its foot, in points."""

    y: float
    foot: float = 0


class Fit(NamedTuple):
    """How a version is set."""

    slack: float = 1
    """Its white space, in shares of the usual."""

    scale: float = 1
    """Of its letters."""

    breaks: bool = False
    """It begins a page."""

    whole: bool = False
    """It is on one page."""


class Ruler(NamedTuple):
    """Heights of what stands on a page, in points."""

    sizes: Print
    size: PageSize
    large: bool

    @property
    def room(self) -> float:
        """Of a page without its margins."""
        return _PAPER[self.size] - _MARGINS

    @property
    def unit(self) -> float:
        """Of white space."""
        return 10 if self.large else 7 if self.size is PageSize.A4 else 6.4

    @property
    def close(self) -> float:
        """Letter is 18 mm lower than A4: lines of prose stand a little closer there."""
        return 1 if self.large or self.size is PageSize.A4 else 0.88

    @property
    def form_row(self) -> float:
        """A row to write in."""
        return (14 if self.large else 8) * _MM

    def lines(self, count: int, size: float, leading: float | None = None) -> float:
        """Running text."""
        leading = self.close * LEADING if leading is None else leading
        return (count * (CAPITAL + leading) - leading) * size

    def heading(self, level: int, count: int = 1) -> float:
        """A heading of so many lines."""
        return self.lines(count, self.sizes.headings[level - 1])

    def below_heading(self, level: int) -> float:
        """The room below a heading that is not in a grid."""
        return _BELOW_HEADINGS[level - 1] * self.sizes.headings[level - 1]

    def title(self, count: int, *, pitch: bool, wide: bool) -> float:
        """The title, with the pitch beside it, or below it in large print or where it is wide."""
        height = self.heading(1, count)
        if pitch and (self.large or wide):
            height += self.below_heading(1) + self.unit + self.heading(2)
        return height

    def version_head(
        self, level: int, titles: int, boxes: int, notes: int, *, below: bool
    ) -> float:
        """The heading of a version, boxes to tick and a note, by their numbers of lines."""
        title = self.heading(level, titles)
        ticks = (boxes * (0.85 + LEADING) - LEADING) * self.sizes.body if boxes else 0.0
        if below:
            height = title + self.below_heading(level) + self.unit + ticks
        else:
            height = max(title, ticks)
        return height + (self.unit + self.lines(notes, self.sizes.body) if notes else 0)

    def feet(self, counts: Iterable[int]) -> tuple[float, ...]:
        """Texts at the foot, side by side; in large print each, since they follow each other."""
        small, texts = self.sizes.small, [self.lines(n, self.sizes.small, 0.5) for n in counts]
        above = 0.6 * self.unit
        if self.large:
            return tuple(small + text + above * (not n) for n, text in enumerate(texts))
        return (above + 1.4 * self.unit + self.close * small + max(texts),)

    def log(self, rows: int) -> float:
        """A log: heading, header and rows to write in."""
        header = (CAPITAL + (0.72 if self.large else 0.6)) * self.sizes.body
        return 2.3 * self.unit + self.heading(2) + header + rows * self.form_row

    def sentences(self, readings: Readings, slack: float, note: bool) -> list[tuple[float, float]]:
        """Each sentence as the white space above it and its height."""
        return [part for reading in readings for part in self._sentences(*reading, slack, note)]

    def _sentences(
        self, look: Look, sentences: Sequence[Sentence], slack: float, note: bool
    ) -> list[tuple[float, float]]:
        sizes, large, paired = self.sizes, self.large, look.paired
        closest = 4 if large else 1.5
        row = 1.12 * look.scale * sizes.reading
        row += 0.94 * max(sizes.small, look.scale * sizes.above) + closest if paired else 0
        row += closest + 0.94 * sizes.small if look.ipa else 0
        leading = 12 if large and paired else 10 if large else 6
        between = slack * (leading if large else 6 if paired else 5)
        heights: list[tuple[float, float]] = []
        for opens, rows, lines in sentences:
            gap = self.above(opens, slack)
            if note and not heights:
                gap = max(gap, 1.8 * self.unit)
            height = rows * row + (rows - lines) * leading + (lines - 1) * between
            heights.append((gap, height))
        return heights

    def above(self, opens: bool, slack: float) -> float:
        """The white space above a sentence."""
        return slack * (2.2 if opens else 1.5) * self.unit


def fit_version(
    ruler: Ruler, head: Head, readings: Readings, closer: Callable[[], Readings], spot: Spot
) -> tuple[Fit, Spot]:
    """How to set a version, and how far the page is filled after it.

    One that fits on a page is kept on one, set closer where that helps, with what belongs at its
    foot; where it would leave more than half a page empty it may break. `closer` gives the same
    in smaller letters; nothing where they may not be.
    """
    unit, room = ruler.unit, ruler.room
    left = room - spot.y - spot.foot
    scale: float = 1
    tight, loose = _heights(ruler, head, readings)
    if head.foot:
        extra = head.foot + (2.8 if ruler.large else 1.4) * unit
    else:
        extra = 0 if head.log is None else ruler.log(head.log) + _AFTER_LOG * unit
        if tight + extra > room and head.log is not None:
            extra = ruler.log(_FEWEST) + _AFTER_LOG * unit
    # A little too long for a page: the letters shrink a little too.
    over = extra > 0 and left - extra - 3 * unit < tight < room and left > 0.8 * room
    if over and (smaller := closer()):
        scale = CLOSER
        tight, loose = _heights(ruler, head, smaller)
    # In large print its last sentences would go to the page of the log, so that it may break.
    parts = ruler.large and head.log is not None and tight + extra > room
    if tight + extra > room and not head.foot:
        extra = 0
    under, taken = (
        (3 * unit + head.foot if head.foot else 0, 0.0) if ruler.large else (0, head.foot)
    )
    now = None if parts else _slack_for(left - extra - 3 * unit - 1, tight, loose)
    later = None if parts else _slack_for(room - extra - 1, tight, loose)
    if now is not None:
        y = spot.y + 3 * unit + tight + (loose - tight) * (now - _LEAST) / (1 - _LEAST) + under
        return Fit(now, scale, whole=True), Spot(y, spot.foot + taken)
    if later is not None and left < 0.55 * room:
        y = tight + (loose - tight) * (later - _LEAST) / (1 - _LEAST) + under
        return Fit(later, breaks=True, whole=True), Spot(y, taken)
    here = left > taken
    limits = [room - spot.foot - taken * here, room - taken * (not here)]
    end = _flow(ruler, head, readings, spot.y, limits)
    if ruler.large and head.feet:
        return Fit(), Spot(_stack(ruler, head.feet, end.y + 3 * unit), end.foot)
    return Fit(), end


def _stack(ruler: Ruler, parts: Sequence[float], y: float) -> float:
    """How far a page is filled after texts that follow each other, each whole."""
    for number, part in enumerate(parts):
        # At the top of a page there is no room above it, but the first has the rule.
        y = y + part if y + part <= ruler.room else part - ruler.sizes.small * (number > 0)
    return y


def _heights(ruler: Ruler, head: Head, readings: Readings) -> tuple[float, float]:
    """The least height and the usual one: white space grows evenly, so they tell all."""
    tight, loose = (
        head.height + sum(map(sum, ruler.sentences(readings, slack, head.note)))
        for slack in (_LEAST, 1)
    )
    return tight, loose


def _slack_for(space: float, tight: float, loose: float) -> float | None:
    if loose <= space:
        return 1
    return _LEAST + (1 - _LEAST) * (space - tight) / (loose - tight) if tight <= space else None


def _flow(ruler: Ruler, head: Head, readings: Readings, y: float, limits: list[float]) -> Spot:
    """Where a version ends that goes on over pages: on its page and on the next one there is room
    to the limits. Its heading stays with the first sentence, a short last one with the one
    before, and those that are tied to a log with each other."""
    parts = ruler.sentences(readings, 1, head.note)
    gap, height = parts[0] if parts else (0, 0)
    parts[:1] = [(3 * ruler.unit, head.height + gap + height)]
    short = bool(readings[-1][1]) and readings[-1][1][-1].rows < 3
    for _ in range(min(len(parts), head.tied or 1 + short) - 1):
        gap, height = parts.pop()
        parts[-1] = parts[-1][0], parts[-1][1] + gap + height
    for gap, height in parts:
        if y + gap + height > limits[0]:
            y = height
            limits = [*limits[1:], ruler.room]
        else:
            y += gap + height
    return Spot(y, ruler.room - limits[0])


def fit_log(ruler: Ruler, rows: int, spot: Spot, *, alone: bool) -> tuple[int | None, bool]:
    """The rows of a log, which fill its page, and whether it begins one.

    Where a few do not fit, and what stands before may not be parted (`alone`), it has a page of
    its own; else the last sentences go to its page with it, so that its rows are not known.
    """
    head = ruler.log(0) + _BEFORE_LOG * ruler.unit + 1

    def fitting(space: float) -> int:
        return int((space - head) // ruler.form_row)

    here = fitting(ruler.room - spot.y - spot.foot)
    if here >= min(rows, _FEWEST):
        return min(_MOST * rows, here), False
    return (max(rows, fitting(ruler.room)) if alone else None), alone
