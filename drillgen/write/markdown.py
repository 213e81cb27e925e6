"""A document as GitHub-flavoured Markdown.

Words to read aloud are tables, a line at a time: the header row holds the
originals, the row below their respelling. Words stay aligned both in a viewer
and in the source, whose columns are padded, and a screen reader names each
respelling by its word. Long lines go on in further tables, so that no table
is wider than a page.

Bold is stress, or a vowel to watch. There is no underline: where the words
are respelled, the respelling itself shows the swapped vowels.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import groupby
from typing import Final

from drillgen.core.document import (
    LINK,
    WEAK,
    AnswerKind,
    Block,
    Chart,
    Document,
    Face,
    Items,
    Legend,
    Lines,
    ListKind,
    Paragraph,
    Plot,
    Reading,
    Section,
    Span,
    Table,
    Ticks,
    Vowel,
    Word,
    text_of,
)
from drillgen.core.printable import clean, squeeze
from drillgen.write.columns import pack_columns, width_of

TABLE_WIDTH: Final = 88
"""Characters of a table row in the source."""

TICK: Final = "☐"
_RULE: Final = r"\_" * 40

_SPECIAL: Final = re.compile(r"[\\`*_\[\]<>&|~$]|:(?=/)|(?<=www)\.|!(?=\[)", re.IGNORECASE)
"""What starts inline markup in CommonMark, GFM (tables, strikethrough, bare
links) or GitHub's mathematics, wherever it stands."""

_LINE_START: Final = re.compile(r"([#+=\-])|(\d{1,9})([.)])")
"""What starts a block at the beginning of a line."""

CellStore = Callable[[Word], tuple[str, str, str]]


def write_markdown(document: Document) -> str:
    """The whole document as one text."""
    return "".join(iter_markdown(document, document.blocks))


def iter_markdown(head: Document, blocks: Iterable[Block]) -> Iterator[str]:
    """The text in pieces, a block at a time; the blocks of `head` itself are not read."""
    yield f"# {_escape_heading(head.title)}\n"
    if pitch := head.pitch:
        label = escape_markdown(pitch.label)
        yield f"\n**{label}:** {escape_markdown(f'{pitch.note} ({pitch.hertz})')}\n"
    # Words repeat. The store lives as long as one text and stays small.
    store = lru_cache(maxsize=20_000)(_format_cells)
    for block in blocks:
        yield from (f"\n{piece}\n" for piece in _iter_pieces(block, store))


def escape_markdown(text: str) -> str:
    """Text that a Markdown reader shows as it is.

    Control characters go, white space collapses to single spaces.

    >>> print(escape_markdown("1. *Not* a <b>list</b>"))
    1\\. \\*Not\\* a \\<b\\>list\\</b\\>
    """
    return _escape_start(_escape_inner(clean(text)))


def _escape_start(escaped: str) -> str:
    if (start := _LINE_START.match(escaped)) is not None:
        mark, digits, dot = start.groups()
        head = f"\\{mark}" if mark else f"{digits}\\{dot}"
        escaped = head + escaped[start.end() :]
    return escaped


def _escape_heading(text: str) -> str:
    # In a heading nothing starts a list, but # at either end would vanish.
    escaped = _escape_inner(clean(text))
    return re.sub(r"^#|(?<= )#+$", r"\\\g<0>", escaped)


def _escape_inner(text: str) -> str:
    return _SPECIAL.sub(r"\\\g<0>", text)


def _iter_pieces(block: Block, store: CellStore) -> Iterator[str]:
    """Blocks of Markdown, without the line ends around them."""
    match block:
        case Section():
            yield from _iter_section(block, store)
        case Paragraph():
            yield _format_line(block.spans)
            if block.ticks:
                yield _format_ticks(block.ticks)
        case Items():
            yield "\n".join(_iter_items(block))
        case Table():
            yield _format_table(block)
        case Legend():
            rows = [
                (
                    f"**{escape_markdown(sign.markdown)}**"
                    if sign.markdown
                    else escape_markdown(sign.mark),
                    escape_markdown(sign.meaning),
                )
                for sign in block.signs
            ]
            yield format_cell_table(list(map(escape_markdown, block.columns)), rows)
        case Reading():
            yield from _iter_reading(block, store)
        case Lines():
            yield from [_RULE] * block.count
        case Chart():
            yield escape_markdown(block.alt)
        case Plot():
            yield _format_table(block.table())


def _iter_section(section: Section, store: CellStore) -> Iterator[str]:
    if section.title:
        yield f"{'#' * section.level} {_escape_heading(section.title)}"
    if section.kicker:
        yield escape_markdown(section.kicker)
    if section.note:
        yield escape_markdown(section.note_bold or section.note)
    if section.ticks:
        yield _format_ticks(section.ticks)
    for block in section.blocks:
        yield from _iter_pieces(block, store)


def _format_line(spans: Iterable[Span]) -> str:
    return _escape_start("".join(map(_format_span, spans)).strip())


def _format_span(span: Span) -> str:
    text = squeeze(span.text)
    if span.face is not Face.LABEL:
        return emphasize((span,))
    label = text.rstrip()
    return f"**{_escape_inner(label)}**{text[len(label) :]}"


def _format_ticks(ticks: Iterable[Ticks]) -> str:
    return " · ".join(
        f"{escape_markdown(row.name)} {' '.join(TICK * row.count)}".strip() for row in ticks
    )


def _iter_items(items: Items) -> Iterator[str]:
    for number, spans in enumerate(items.items, 1):
        start = f"{number}." if items.kind is ListKind.NUMBERS else "-"
        yield f"{start} {_format_line(spans)}"


# Words to read aloud


def _iter_reading(reading: Reading, store: CellStore) -> Iterator[str]:
    for sentence in reading.sentences:
        number = str(sentence.number)
        if not reading.paired:
            # A backslash keeps the end of a line.
            said = (" ".join(store(word)[1] for word in line) for line in sentence.lines)
            yield f"{number}\\. " * bool(number.strip()) + "\\\n".join(said)
            continue
        for line in sentence.lines:
            columns = [store(word)[: 2 + reading.ipa] for word in line]
            for packed in pack_columns(columns, TABLE_WIDTH - len(number) - 4, gap=3):
                rows = list(zip((number, *("",) * (len(packed[0]) - 1)), *packed, strict=True))
                yield format_cell_table(rows[0], rows[1:])
                number = " " * len(number)


def _format_cells(word: Word) -> tuple[str, str, str]:
    """Original, respelling with its mark, and IPA."""
    said = emphasize(word.said) + word.linked * LINK
    original = escape_markdown(word.original or word.text) + word.weak * WEAK
    return original, said, escape_markdown(word.ipa)


def emphasize(spans: Sequence[Span]) -> str:
    """Letters with stress and vowels to watch in bold, all text escaped.

    Emphasis in CommonMark must hug letters: punctuation and space at the ends
    of a bold stretch stay outside of it.
    """
    shown = (span for span in spans if span.text)
    looks = groupby(shown, key=lambda s: s.stressed or s.vowel is Vowel.WATCHED)
    return "".join(_embolden(squeeze(text_of(part)), bold) for bold, part in looks)


def _embolden(text: str, bold: bool) -> str:
    if not bold:
        return _escape_inner(text)
    start, end = 0, len(text)
    while start < end and _is_outside(text[start]):
        start += 1
    while end > start and _is_outside(text[end - 1]):
        end -= 1
    inner = _escape_inner(text[start:end])
    strong = f"**{inner}**" if inner else ""
    return _escape_inner(text[:start]) + strong + _escape_inner(text[end:])


def _is_outside(character: str) -> bool:
    return unicodedata.category(character)[0] in "PSZC"


# Tables


def _format_table(table: Table) -> str:
    # An answer is typed here; only a box that has words stands for itself.
    answers = [
        TICK if answer.kind is AnswerKind.TICK and answer.alt else "" for answer in table.answers
    ]
    return format_cell_table(
        list(map(escape_markdown, table.titles)),
        [[*map(_format_cell, row), *answers] for row in table.rows],
    )


def _format_cell(spans: Sequence[Span]) -> str:
    return _escape_start(emphasize(spans).strip())


def format_rows(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table of plain texts."""
    return format_cell_table(
        list(map(escape_markdown, header)), [list(map(escape_markdown, row)) for row in rows]
    )


def format_cell_table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A padded table of cells that are Markdown already."""
    widths = [max(3, *(width_of(row[i]) for row in (header, *rows))) for i in range(len(header))]

    def line(cells: Sequence[str]) -> str:
        padded = (
            cell + " " * (width - width_of(cell))
            for cell, width in zip(cells, widths, strict=True)
        )
        return "| " + " | ".join(padded) + " |"

    rule = "|" + "|".join("-" * (width + 2) for width in widths) + "|"
    return "\n".join([line(header), rule, *map(line, rows)])
