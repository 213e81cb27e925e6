"""A document as plain text: aligned rows, wrapped; stress in CAPITALS.

Letters have no looks here. A row of ^ below the letters shows the vowels that
are swapped or watched; in a table, where there is no room for a row, brackets
show those to watch.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from drillgen.core.document import (
    LINK,
    WEAK,
    Answer,
    AnswerKind,
    Block,
    Chart,
    Document,
    Items,
    Legend,
    Lines,
    ListKind,
    Paragraph,
    Plot,
    Reading,
    Section,
    Sentence,
    Span,
    Table,
    Ticks,
    Vowel,
    Word,
    text_of,
)
from drillgen.core.printable import clean
from drillgen.write.columns import pack_columns, width_of

WIDTH: Final = 78
TICK: Final = "[ ]"
_NUMBER: Final = 4
"""Cells that a sentence's number takes."""

_NOTE: Final = "." * 20


def write_plain(document: Document, width: int = WIDTH) -> str:
    """The whole document, no line wider than `width` unless one word is."""
    return "".join(iter_plain(document, document.blocks, width))


def iter_plain(head: Document, blocks: Iterable[Block], width: int = WIDTH) -> Iterator[str]:
    """The text in pieces, a block at a time; the blocks of `head` itself are not read."""
    yield _underline(wrap(head.title, width), "=") + "\n"
    if head.pitch:
        yield f"\n{head.pitch.label}: {head.pitch.note} ({head.pitch.hertz})\n"
    for block in blocks:
        yield from (f"\n{piece}\n" for piece in _iter_pieces(block, width))


def _iter_pieces(block: Block, width: int) -> Iterator[str]:
    """Paragraphs, without the line ends around them."""
    match block:
        case Section():
            yield from _iter_section(block, width)
        case Paragraph():
            yield wrap(text_of(block.spans), width)
            if block.ticks:
                yield _format_ticks(block.ticks)
        case Items():
            yield "\n".join(_iter_items(block, width))
        case Table():
            yield _format_table(block, width)
        case Legend():
            rows = [(sign.plain or sign.mark, sign.meaning) for sign in block.signs]
            yield format_grid(block.columns, rows, width)
        case Reading():
            yield from (_format_sentence(s, block, width) for s in block.sentences)
        case Lines():
            yield from ["_" * width] * block.count
        case Plot():
            yield _format_table(block.table(), width)
        case Chart():
            yield wrap(block.stars, width)
            yield "\n".join(_iter_bars(block))


def _iter_section(section: Section, width: int) -> Iterator[str]:
    apart = "\n" if section.chapter or section.kicker else ""
    if section.title:
        yield apart + _underline(wrap(section.title, width), "=" if section.chapter else "-")
    if section.kicker:
        yield section.kicker
    if section.note:
        yield wrap(section.note, width)
    if section.ticks:
        yield _format_ticks(section.ticks)
    for block in section.blocks:
        yield from _iter_pieces(block, width)


def _underline(text: str, mark: str) -> str:
    return f"{text}\n{mark * max(map(width_of, text.splitlines()), default=0)}"


def _format_ticks(ticks: Iterable[Ticks]) -> str:
    return "\n".join(f"{row.name} {' '.join([TICK] * row.count)}".strip() for row in ticks)


def _iter_items(items: Items, width: int) -> Iterator[str]:
    for number, spans in enumerate(items.items, 1):
        start = {ListKind.NUMBERS: f"{number}. ", ListKind.BULLETS: "- ", ListKind.LABELS: ""}
        indent = 2 if items.kind is ListKind.BULLETS else 3
        yield wrap(start[items.kind] + text_of(spans), width, indent)


def wrap(text: str, width: int, indent: int = 0) -> str:
    """A paragraph folded to a width, its further lines indented."""
    return "\n".join(
        textwrap.wrap(
            clean(text),
            width,
            subsequent_indent=" " * indent,
            break_long_words=False,
            break_on_hyphens=False,
        )
    )


# Words to read aloud


def capitalize_stress(spans: Iterable[Span]) -> str:
    """The printed characters with the stressed syllables in capitals.

    >>> from drillgen.core.values import Grade
    >>> capitalize_stress([Span("bee", Grade.BEAT), Span("-tee")])
    'BEE-tee'
    """
    return "".join(span.text.upper() if span.stressed else span.text for span in spans)


def underline_marks(spans: Iterable[Span]) -> str:
    """A row of ^ below the letters that a printed page underlines."""
    row = "".join(("^" if span.vowel else " ") * width_of(span.text) for span in spans)
    return row.rstrip()


def _format_sentence(sentence: Sentence, reading: Reading, width: int) -> str:
    number = f"{sentence.number}.".ljust(_NUMBER)
    bands = []
    for line in sentence.lines:
        columns = [list(_stack(word, reading)) for word in line]
        for band in pack_columns(columns, width - len(number) + 2):
            widths = [max(map(width_of, column)) for column in band]
            rows = [_pad(cells, widths) for cells in zip(*band, strict=True)]
            margins = (number, *(" " * len(number) for _ in rows))
            lines = [(m + row).rstrip() for m, row in zip(margins, rows, strict=False)]
            bands.append("\n".join(line for line in lines if line))
            number = " " * len(number)
    return "\n\n".join(bands)


def _stack(word: Word, reading: Reading) -> Iterator[str]:
    """The rows of a word, from above."""
    if reading.paired:
        yield (word.original or word.text) + word.weak * WEAK
    said = capitalize_stress(word.said) + word.linked * LINK
    yield said
    yield underline_marks(word.spans)
    if reading.ipa:
        yield word.ipa


# Tables


def _format_table(table: Table, width: int) -> str:
    if not table.columns:
        return _format_form(table.answers, len(table.rows), width)
    # Boxes that are drawn on paper only would make the rows too wide for nothing.
    answers = [a for a in table.answers if a.kind is AnswerKind.NOTE or a.alt]
    texts = [TICK if answer.kind is AnswerKind.TICK else _NOTE for answer in answers]
    return format_grid(
        [c.title for c in table.columns] + [a.title for a in answers],
        [[*map(_format_cell, row), *texts] for row in table.rows],
        width,
    )


def _format_cell(spans: Iterable[Span]) -> str:
    return "".join(
        f"[{span.text}]" if span.vowel is Vowel.WATCHED else capitalize_stress((span,))
        for span in spans
    )


def format_grid(header: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> str:
    """A table in plain characters, its widest columns folded to fit."""
    cells = [list(map(clean, header)), *(list(map(clean, row)) for row in rows)]
    widths = [max(width_of(row[i]) for row in cells) for i in range(len(header))]
    while sum(widths) + 2 * (len(widths) - 1) > width and max(widths) > 12:
        widths[widths.index(max(widths))] -= 1
    lines = []
    for number, row in enumerate(cells):
        folded = [_fold(cell, size) for cell, size in zip(row, widths, strict=True)]
        for k in range(max(map(len, folded))):
            parts = [part[k] if k < len(part) else "" for part in folded]
            lines.append(_pad(parts, widths))
        if number == 0:
            lines.append(_pad(["-" * size for size in widths], widths))
    return "\n".join(lines)


_MARKED: Final = re.compile(".[\u0300-\u036f]*")


def _fold(cell: str, size: int) -> list[str]:
    """A cell in lines; marks that stand over a letter of their own take no room ("Adébáyọ̀")."""
    letters = iter(_MARKED.findall(cell))
    bare = _MARKED.sub(lambda found: found[0][0], cell)
    # Between lines a space is dropped.
    return [
        "".join(next(letter for letter in letters if letter[0] == sign) for sign in line)
        for line in textwrap.wrap(bare, size, break_on_hyphens=False)
    ] or [""]


def _pad(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(
        cell + " " * (size - width_of(cell)) for cell, size in zip(cells, widths, strict=True)
    ).rstrip()


def _format_form(answers: Sequence[Answer], rows: int, width: int) -> str:
    """Empty rows to write in."""
    least = [width_of(answer.title) for answer in answers]
    spare = max(0, width - 3 * len(answers) - 1 - sum(least))
    whole = sum(answer.share for answer in answers)
    widths = [
        size + int(spare * answer.share / whole)
        for size, answer in zip(least, answers, strict=True)
    ]
    rule = "+" + "+".join("-" * (size + 2) for size in widths) + "+"
    line = "|" + "|".join(" " * (size + 2) for size in widths) + "|"
    titles = (
        a.title + " " * (size - width_of(a.title)) for a, size in zip(answers, widths, strict=True)
    )
    return "\n".join([rule, f"| {' | '.join(titles)} |", rule, *[line, rule] * rows])


def _iter_bars(chart: Chart) -> Iterator[str]:
    """A row per point: its place and a star per step up, ! for a ring."""
    for point in chart.points:
        stars = ("*" * point.up).ljust(chart.top, ".")
        yield f"{point.across:4}  {stars}{'  !' if point.open else ''}"
