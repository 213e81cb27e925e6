"""A sheet as GitHub-flavoured Markdown.

The versions are tables, a sentence at a time: the header row holds the
original words, the row below their respelling. Words stay aligned both in a
viewer and in the source, whose columns are padded, and a screen reader names
each respelling by its word. Long sentences go on in further tables, so that
no table is wider than a page.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from drillgen.core.resources import resource_folder
from drillgen.core.values import Drill, KeyEntry, Run, Version, VersionKind, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import (
    LINK,
    WEAK,
    Gathered,
    ReviewRow,
    Word,
    clean,
    deliveries_for,
    delivery_texts,
    format_pitch,
    iter_paragraphs,
    iter_sentences,
    key_rows,
    mark_rows,
    number_drills,
    title_of,
    version_label,
)
from drillgen.write.columns import pack_columns, width_of

if TYPE_CHECKING:
    from jinja2 import Environment

TABLE_WIDTH: Final = 88
"""Characters of a table row in the source."""

TICK: Final = "☐"

_SPECIAL: Final = re.compile(r"[\\`*_\[\]<>&|~$]|:(?=/)|(?<=www)\.|!(?=\[)", re.IGNORECASE)
"""What starts inline markup in CommonMark, GFM (tables, strikethrough, bare
links) or GitHub's mathematics, wherever it stands."""

_LINE_START: Final = re.compile(r"([#+=\-])|(\d{1,9})([.)])")
"""What starts a block at the beginning of a line."""


CellFormatter = Callable[[Word, VersionKind, bool], tuple[str, ...]]
"""Original, respelling and IPA of a word in a kind of version, IPA where wanted."""


class Verbatim(str):
    """Markdown that we wrote ourselves; everything else is escaped."""

    __slots__ = ()


def escape_markdown(text: object) -> str:
    """Text that a Markdown reader shows as it is; `Verbatim` passes through.

    Control characters go, white space collapses to single spaces.

    >>> print(escape_markdown("1. *Not* a <b>list</b>"))
    1\\. \\*Not\\* a \\<b\\>list\\</b\\>
    """
    if isinstance(text, Verbatim):
        return text
    escaped = _SPECIAL.sub(r"\\\g<0>", clean(str(text)))
    if (start := _LINE_START.match(escaped)) is not None:
        mark, digits, dot = start.groups()
        head = f"\\{mark}" if mark else f"{digits}\\{dot}"
        escaped = head + escaped[start.end() :]
    return escaped


def render_markdown(sheet: Worksheet) -> str:
    """The whole sheet as one text."""
    return "".join(iter_markdown(sheet.drills, sheet))


def iter_markdown(drills: Iterable[Drill], head: Worksheet) -> Iterator[str]:
    """The sheet in pieces, a drill at a time, so that any length needs little memory.

    `head` gives everything but the drills; its own `drills` are not read. The
    key holds the entries of all drills, and stands at the end.
    """
    wording = choose_wording(head.discreet)
    templates = load_templates()
    common = {"sheet": head, "words": wording}
    yield templates.get_template("head.md.j2").render(
        common,
        title=title_of(head, wording),
        pitch=format_pitch(head.pitch) if head.pitch else None,
        deliveries=delivery_texts(head, wording),
    )
    body = templates.get_template("drill.md.j2")
    format_cells = make_cell_store()
    gathered = Gathered()
    for before, title, drill in number_drills(drills, head):
        versions = describe_versions(drill, before, head, format_cells)
        yield from body.generate(
            common, title=title, paragraphs=iter_paragraphs(drill), versions=versions
        )
        gathered.add(drill, head, title=title, before=before)
    yield render_tail(templates, head, gathered.key, gathered.signs, gathered.review)


def make_cell_store() -> CellFormatter:
    """Formats the cells of a word, and remembers them: words repeat.

    The store lives as long as one text and stays small.
    """
    return lru_cache(maxsize=20_000)(_format_cells)


def describe_versions(
    drill: Drill, before: int, head: Worksheet, format_cells: CellFormatter
) -> Iterator[dict[str, object]]:
    """What the templates print of each version: label, tick boxes, sentences."""
    wording = choose_wording(head.discreet)
    for version in drill.versions:
        yield {
            "label": version_label(version, drill, wording, flow=head.show_flow),
            "ticks": Verbatim(
                " · ".join(
                    show_ticks(text.name, head.repetitions)
                    for text in deliveries_for(version, wording)
                )
            ),
            "blocks": _format_sentences(drill, version, before, head, format_cells),
        }


def show_ticks(name: str, count: int) -> Verbatim:
    """Boxes to tick, and what for."""
    return Verbatim(f"{escape_markdown(name)} {' '.join(TICK * count)}")


def render_tail(
    templates: Environment,
    head: Worksheet,
    key: Iterable[KeyEntry],
    signs: Collection[str],
    review: Iterable[ReviewRow],
) -> str:
    """What stands below the versions: words to check, key, marks, cautions, log."""
    wording = choose_wording(head.discreet)
    marks = [
        (Verbatim(_show_mark(text.mark, text.face)), text.meaning)
        for text in mark_rows(signs, head, wording)
    ]
    return templates.get_template("tail.md.j2").render(
        sheet=head,
        words=wording,
        key=format_rows(wording.key_columns, key_rows(key, wording)),
        marks=format_rows(wording.marks_columns, marks),
        review=format_rows(wording.review_columns, list(review)),
        log=format_rows(wording.log_columns, [("",) * len(wording.log_columns)] * head.log_rows),
    )


def load_templates() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    # Every expression of a template is escaped by `finalize`: forgetting a
    # filter can't let markup in.
    return Environment(
        loader=FileSystemLoader(resource_folder("templates") / "markdown"),
        autoescape=False,
        finalize=escape_markdown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _show_mark(mark: str, face: str) -> str:
    # Bold stands for both faces, in different versions: see emphasize.
    return "**bold**" if face else escape_markdown(mark)


def _format_sentences(
    drill: Drill,
    version: Version,
    before: int,
    head: Worksheet,
    format_cells: CellFormatter,
) -> Iterator[Verbatim]:
    with_ipa = head.show_ipa and version.kind is VersionKind.FULL
    for sentence in iter_sentences(
        drill, version, ipa=with_ipa, before=before, flow=head.show_flow
    ):
        columns = [format_cells(word, version.kind, with_ipa) for word in sentence.words]
        if version.kind is VersionKind.MARKED:
            line = " ".join(cells[1] for cells in columns)
            yield Verbatim(f"{sentence.number}\\. {line}\n")
            continue
        number = str(sentence.number)
        for packed in pack_columns(columns, TABLE_WIDTH - len(number) - 4, gap=3):
            rows = list(zip((number, *("",) * (len(packed[0]) - 1)), *packed, strict=True))
            yield Verbatim(format_cell_table(rows[0], rows[1:]))
            number = " " * len(number)


def _format_cells(word: Word, kind: VersionKind, with_ipa: bool) -> tuple[str, ...]:
    """Original, respelling with its mark, and IPA where it is wanted."""
    said = emphasize(word.runs, kind) + word.linked * LINK
    said = f"{said} {escape_markdown(word.mark)}" if word.mark else said
    original = escape_markdown(word.original or word.text) + word.weak * WEAK
    return (original, said, escape_markdown(word.ipa)) if with_ipa else (original, said)


def emphasize(runs: Sequence[Run], kind: VersionKind) -> str:
    """The runs with their stressed syllables bold, all text escaped.

    Markdown has no underline. In a partial version the respelling itself
    shows the swapped vowels; in the original words bold marks the vowels.

    Emphasis in CommonMark must hug letters: punctuation and space at the ends
    of a bold stretch stay outside of it.
    """
    pieces: list[tuple[bool, str]] = []
    for run in runs:
        bold = run.vowel if kind is VersionKind.MARKED else run.stressed
        if pieces and (pieces[-1][0] == bold or not run.text):
            pieces[-1] = (pieces[-1][0], pieces[-1][1] + run.text)
        else:
            pieces.append((bold, run.text))
    return "".join(_embolden(text) if bold else _escape_inner(text) for bold, text in pieces)


def _embolden(text: str) -> str:
    start, end = 0, len(text)
    while start < end and _is_outside(text[start]):
        start += 1
    while end > start and _is_outside(text[end - 1]):
        end -= 1
    inner = _escape_inner(text[start:end])
    bold = f"**{inner}**" if inner else ""
    return _escape_inner(text[:start]) + bold + _escape_inner(text[end:])


def _is_outside(character: str) -> bool:
    return unicodedata.category(character)[0] in "PSZC"


def _escape_inner(text: str) -> str:
    return _SPECIAL.sub(r"\\\g<0>", text)


def format_rows(header: Sequence[str], rows: Sequence[Sequence[str]]) -> Verbatim:
    """A table of escaped cells; empty without rows."""
    if not rows:
        return Verbatim("")
    return Verbatim(
        format_cell_table(
            [escape_markdown(cell) for cell in header],
            [[escape_markdown(cell) for cell in row] for row in rows],
        )
    )


def format_cell_table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A padded table of cells that are Markdown already."""
    widths = [max(3, *(width_of(row[i]) for row in (header, *rows))) for i in range(len(header))]

    def line(cells: Sequence[str]) -> str:
        padded = (
            cell + " " * (width - width_of(cell))
            for cell, width in zip(cells, widths, strict=True)
        )
        return "| " + " | ".join(padded) + " |\n"

    rule = "|" + "|".join("-" * (width + 2) for width in widths) + "|\n"
    return line(header) + rule + "".join(map(line, rows))
