"""What a reader sees, as values: the hand-over from the sheets to the writers.

A sheet is a pure function to a `Document`; a writer turns any Document into one format
and knows nothing of drills. Values only: no value here says how a format shows it. The
hints (`keep`, `beside`, `compact`, `rank` …) are wishes for paper, which a running text
may pass over. Everything is immutable and can be written as JSON, with a tag on each block.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from itertools import chain
from typing import Final

from msgspec import Struct

from drillgen.core.values import Grade


class Value(Struct, frozen=True, omit_defaults=True):
    """A value that leaves its defaults out of JSON."""


class _Block(Value, frozen=True, tag_field="block", tag=str.lower):
    """What can stand in a document or a section."""


LINK: Final = "‿"
"""IPA: linking (absence of a break)."""

WEAK: Final = "˘"
"""IPA: extra-short, here of a whole word, as in scansion."""


# Letters


class Vowel(StrEnum):
    """What the exercise does to the vowel of these letters."""

    NONE = ""
    SWAPPED = "swapped"
    WATCHED = "watched"
    """It stays; the reader is to mind it."""


class Face(StrEnum):
    """How a piece of prose is set off."""

    NONE = ""
    LABEL = "label"
    """Names what follows it."""

    STRONG = "strong"
    """To be heeded. In Markdown, where bold is stress, it stays plain."""

    SOFT = "soft"
    """May be read over."""

    TUNE = "tune"
    """An arrow before the main beat: where the voice goes."""


class Span(Value, frozen=True):
    """Letters that look the same."""

    text: str
    grade: Grade = Grade.NONE
    vowel: Vowel = Vowel.NONE
    face: Face = Face.NONE

    @property
    def stressed(self) -> bool:
        """Whether it is a beat or the nucleus."""
        return self.grade is not Grade.NONE


Spans = tuple[Span, ...]


def prose(text: str, *, label: str = "") -> Spans:
    """Plain text, with a label in front of it where one is given."""
    return (*((Span(f"{label} ", face=Face.LABEL),) if label else ()), Span(text))


def prose_rows(rows: Iterable[Iterable[str]]) -> tuple[tuple[Spans, ...], ...]:
    """The cells of a table, all of them plain text."""
    return tuple(tuple(map(prose, row)) for row in rows)


def text_of(spans: Iterable[Span]) -> str:
    """The characters without their looks."""
    return "".join(span.text for span in spans)


# Words to read aloud


class Word(Value, frozen=True):
    """What stands between two spaces."""

    spans: Spans
    original: str = ""
    """As it was written, with its punctuation; empty where the spans say the same."""

    ipa: str = ""
    weak: bool = False
    """Said lightly."""

    linked: bool = False
    """Leads over to the next word."""

    breath: str = ""
    """Mark of a breath behind it, where its line goes on."""

    @property
    def said(self) -> Spans:
        """The spans, and the mark of a breath behind them."""
        mark = (Span(f" {self.breath}", face=Face.SOFT),) if self.breath else ()
        return (*self.spans, *mark)

    @property
    def text(self) -> str:
        """The printed characters without their looks."""
        return text_of(self.spans)


class Sentence(Value, frozen=True):
    """A numbered sentence."""

    number: int
    lines: tuple[tuple[Word, ...], ...]
    """Each is a breath: it begins on a new line, and wraps once where it must."""

    opens: bool = False
    """It opens a paragraph."""

    @property
    def words(self) -> tuple[Word, ...]:
        """The words of all its lines."""
        return tuple(chain.from_iterable(self.lines))


class Reading(_Block, frozen=True):
    """Sentences to read aloud, word aligned with word."""

    sentences: tuple[Sentence, ...]
    paired: bool = True
    """The originals stand above the spans."""

    ipa: bool = False
    """IPA stands below."""


# Other blocks


class Ticks(Value, frozen=True):
    """A row of boxes to tick."""

    name: str
    count: int
    alt: str
    """The row in words."""


class Paragraph(_Block, frozen=True):
    """Running text, with boxes to tick after it."""

    spans: Spans
    ticks: tuple[Ticks, ...] = ()
    framed: bool = False
    """Stands out from what is around it."""


class ListKind(StrEnum):
    """What stands before the items of a list."""

    BULLETS = "bullets"
    NUMBERS = "numbers"
    LABELS = "labels"
    """Each item begins with a label of its own."""


class Items(_Block, frozen=True):
    """A list."""

    items: tuple[Spans, ...]
    kind: ListKind = ListKind.BULLETS
    halves: bool = False
    """May stand in two columns."""


class Column(Value, frozen=True):
    """A column of text in a table."""

    title: str
    share: float = 0
    """Share of the room that is left; 0: as narrow as its cells."""

    names: bool = False
    """Its cell names the row."""

    aloud: bool = False
    """Its cells are read aloud: larger letters."""

    whole: bool = False
    """Its words never break."""


class AnswerKind(StrEnum):
    """How an answer is given with a pen."""

    TICK = "tick"
    SCALE = "scale"
    NOTE = "note"


class Answer(Value, frozen=True):
    """A column that the reader fills in, the same in each row."""

    title: str
    kind: AnswerKind = AnswerKind.NOTE
    alt: str = ""
    """A tick box in words. Without it the box is drawn on paper only."""

    marks: tuple[str, ...] = ()
    """What is circled on a scale."""

    share: float = 1
    """Width beside the other answers."""


class Table(_Block, frozen=True):
    """Rows of text, and columns to fill in behind them.

    Without columns of text it is an empty form of as many rows.
    """

    columns: tuple[Column, ...] = ()
    rows: tuple[tuple[Spans, ...], ...] = ()
    answers: tuple[Answer, ...] = ()
    halves: bool = False
    """May stand in two halves, side by side."""

    beside: bool = False
    """May stand beside the block before it."""

    @property
    def titles(self) -> tuple[str, ...]:
        """The header row."""
        return (*(c.title for c in self.columns), *(a.title for a in self.answers))


class Sign(Value, frozen=True):
    """A mark of the page and its meaning."""

    meaning: str
    mark: str = ""
    """The sign, or what it is called where a face is the mark."""

    grade: Grade = Grade.NONE
    vowel: Vowel = Vowel.NONE
    markdown: str = ""
    """What the face is called where letters can only be bold."""

    plain: str = ""
    """What stands for the face in plain text."""

    @property
    def stressed(self) -> bool:
        """Whether it is a face of stressed letters."""
        return self.grade is not Grade.NONE


class Legend(_Block, frozen=True):
    """What the marks mean."""

    columns: tuple[str, str]
    signs: tuple[Sign, ...]


class Lines(_Block, frozen=True):
    """Ruled lines to write on."""

    count: int
    alt: str


class Keyboard(Value, frozen=True):
    """A reference pitch, with piano keys around it."""

    label: str
    note: str
    hertz: str
    midi: int
    alt: str
    drawn: bool = True
    """Whether the keys are drawn."""


class Point(Value, frozen=True):
    """A dot of a chart."""

    across: int
    up: int
    open: bool = False
    """Drawn as a ring."""


class Chart(_Block, frozen=True):
    """A line chart."""

    points: tuple[Point, ...]
    top: int
    across: str
    """Name of the axis."""

    up: str
    ring: str
    """What a ring says."""

    stars: str
    """Explains the chart as rows of stars."""

    alt: str


class Axis(Value, frozen=True):
    """An axis of a plot."""

    name: str
    low: float
    high: float
    """Its ends: from left to right, from bottom to top. `low` may be the greater one."""

    ticks: tuple[float, ...] = ()
    """Values that are written at it."""


class Mark(Value, frozen=True):
    """A point of a plot."""

    across: float
    up: float
    label: str = ""
    """Written beside it; what has a label stands in the table of text formats too."""

    open: bool = False
    """Drawn as a ring."""

    small: bool = False


class Plot(_Block, frozen=True):
    """Points on two scales."""

    across: Axis
    up: Axis
    marks: tuple[Mark, ...]
    alt: str
    joined: bool = False
    """A line leads from mark to mark."""

    def table(self) -> Table:
        """Its labelled marks as rows, for a format without figures."""
        columns = (Column("", names=True), Column(self.across.name), Column(self.up.name))
        rows = tuple(
            (prose(mark.label), prose(f"{mark.across:g}"), prose(f"{mark.up:g}"))
            for mark in self.marks
            if mark.label
        )
        return Table(columns, rows)


# The whole


class Keep(StrEnum):
    """What is kept together on paper."""

    NONE = ""
    WHOLE = "whole"
    """On one page, unless it is taller than that."""

    FIT = "fit"
    """On one page where little room is lost by it; it may be set a little closer."""

    PAGE = "page"
    """It begins a page."""


class Section(_Block, frozen=True):
    """A heading and what belongs to it."""

    title: str
    blocks: tuple[Block, ...] = ()
    level: int = 2
    """Of the heading, from 2; a section inside another is one deeper."""

    note: str = ""
    """A line under the heading."""

    note_bold: str = ""
    """The same where letters can only be bold; empty: as it is."""

    kicker: str = ""
    """A word or two that open an item of many."""

    ticks: tuple[Ticks, ...] = ()
    keep: Keep = Keep.NONE
    compact: bool = False
    """One of many short ones: in less room."""

    chapter: bool = False
    """Set off more strongly from what comes before."""

    joined: bool = False
    """Goes on right under the section before it, on paper without its heading."""

    beside: bool = False
    """May stand beside the section before it."""

    share: float = 1
    """Width beside its neighbour."""

    foot: bool = False
    """Stands at the foot of the page that it comes on."""

    rank: int = 0
    """Blocks stand on paper in the order of their ranks, equals as they come."""


Block = Paragraph | Items | Table | Legend | Reading | Lines | Chart | Plot | Section


class Document(Value, frozen=True):
    """All that a sheet says."""

    title: str
    blocks: tuple[Block, ...] = ()
    """In the order of a running text; `paper_order` gives that of paper."""

    pitch: Keyboard | None = None
    foot: str = ""
    """Left half of the running foot."""

    page: str = ""
    """Right half. Fields: page, pages."""

    missing: str = ""
    """Warning on characters that can't be drawn. Field: characters."""


def paper_order(blocks: tuple[Block, ...]) -> list[Block]:
    """The blocks by their rank: on paper, what is looked up stands before the text."""

    def rank(block: Block) -> int:
        return block.rank if isinstance(block, Section) else 0

    return sorted(blocks, key=rank)
