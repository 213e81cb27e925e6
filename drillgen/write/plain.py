"""A sheet as plain text: two aligned rows, wrapped, stress in CAPITALS."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from drillgen.core.resources import resource_folder
from drillgen.core.values import Drill, KeyEntry, Run, Version, VersionKind, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import (
    LINK,
    WEAK,
    Gathered,
    ReviewRow,
    Sentence,
    clean,
    deliveries_for,
    delivery_texts,
    format_pitch,
    iter_paragraphs,
    iter_sentences,
    key_rows,
    mark_rows,
    number_drills,
    style_of,
    title_of,
    version_label,
)
from drillgen.write.columns import pack_columns, width_of

if TYPE_CHECKING:
    from jinja2 import Environment

WIDTH: Final = 78
TICK: Final = "[ ]"
_NUMBER: Final = 4
"""Cells that a sentence's number takes."""


def render_text(sheet: Worksheet, width: int = WIDTH) -> str:
    """The whole sheet, no line wider than `width` unless one word is."""
    return "".join(iter_text(sheet.drills, sheet, width))


def iter_text(drills: Iterable[Drill], head: Worksheet, width: int = WIDTH) -> Iterator[str]:
    """The sheet in pieces, a drill at a time; see `iter_markdown`."""
    wording = choose_wording(head.discreet)
    templates = load_templates(width)
    common = {"sheet": head, "words": wording}
    yield templates.get_template("head.txt.j2").render(
        common,
        title=title_of(head, wording),
        pitch=format_pitch(head.pitch) if head.pitch else None,
        deliveries=delivery_texts(head, wording),
    )
    body = templates.get_template("drill.txt.j2")
    gathered = Gathered()
    for before, title, drill in number_drills(drills, head):
        versions = describe_versions(drill, before, head, width)
        yield from body.generate(
            common, title=title, paragraphs=iter_paragraphs(drill), versions=versions
        )
        gathered.add(drill, head, title=title, before=before)
    yield render_tail(templates, head, gathered.key, gathered.signs, gathered.review, width)


def describe_versions(
    drill: Drill, before: int, head: Worksheet, width: int
) -> Iterator[dict[str, object]]:
    """What the templates print of each version: label, tick boxes, sentences."""
    wording = choose_wording(head.discreet)
    for version in drill.versions:
        yield {
            "label": version_label(version, drill, wording, flow=head.show_flow),
            "ticks": [
                (text.name, show_ticks(head.repetitions))
                for text in deliveries_for(version, wording)
            ],
            "blocks": _format_sentences(drill, version, before, head, width),
        }


def _format_sentences(
    drill: Drill, version: Version, before: int, head: Worksheet, width: int
) -> Iterator[str]:
    with_ipa = head.show_ipa and version.kind is VersionKind.FULL
    for sentence in iter_sentences(
        drill, version, ipa=with_ipa, before=before, flow=head.show_flow
    ):
        yield _format_sentence(sentence, version.kind, width)


def show_ticks(count: int) -> str:
    """Boxes to tick."""
    return " ".join([TICK] * count)


def render_tail(
    templates: Environment,
    head: Worksheet,
    key: Iterable[KeyEntry],
    signs: Collection[str],
    review: Iterable[ReviewRow],
    width: int,
) -> str:
    """What stands below the versions: words to check, key, marks, cautions, log."""
    wording = choose_wording(head.discreet)
    marks = [
        ({"bold": "CAPITALS", "underline": "^"}.get(text.face, text.mark), text.meaning)
        for text in mark_rows(signs, head, wording)
    ]
    return templates.get_template("tail.txt.j2").render(
        sheet=head,
        words=wording,
        key=format_grid(wording.key_columns, key_rows(key, wording), width),
        marks=format_grid(wording.marks_columns, marks, width),
        review=format_grid(wording.review_columns, list(review), width),
        log=_format_log(wording.log_columns, head.log_rows, width),
    )


def load_templates(width: int) -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    templates = Environment(
        loader=FileSystemLoader(resource_folder("templates") / "text"),
        autoescape=False,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    templates.filters["wrap"] = lambda text, indent=0: wrap(text, width, indent)
    templates.filters["underline"] = lambda text, mark: f"{text}\n{mark * width_of(text)}"
    return templates


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


def capitalize_stress(runs: Sequence[Run], kind: VersionKind) -> str:
    """The printed characters with the stressed syllables in capitals.

    The original words keep their letters: capitals are theirs already.

    >>> capitalize_stress([Run("bee", stressed=True), Run("-tee")], VersionKind.FULL)
    'BEE-tee'
    """
    if kind is VersionKind.MARKED:
        return "".join(run.text for run in runs)
    return "".join(run.text.upper() if run.stressed else run.text for run in runs)


def underline_marks(runs: Sequence[Run], kind: VersionKind) -> str:
    """A row of ^ below the letters that a printed page underlines."""
    row = "".join(("^" if style_of(run, kind)[1] else " ") * width_of(run.text) for run in runs)
    return row.rstrip()


def _format_sentence(sentence: Sentence, kind: VersionKind, width: int) -> str:
    with_ipa = any(word.ipa for word in sentence.words)
    columns = []
    for word in sentence.words:
        said = capitalize_stress(word.runs, kind) + word.linked * LINK
        said = f"{said} {word.mark}" if word.mark else said
        column = (
            [] if kind is VersionKind.MARKED else [(word.original or word.text) + word.weak * WEAK]
        )
        column.append(said)
        if kind is not VersionKind.FULL:
            column.append(underline_marks(word.runs, kind))
        if with_ipa:
            column.append(word.ipa)
        columns.append(column)
    number = f"{sentence.number}.".ljust(_NUMBER)
    bands = []
    for band in pack_columns(columns, width - len(number) + 2):
        widths = [max(map(width_of, column)) for column in band]
        rows = [_pad(cells, widths) for cells in zip(*band, strict=True)]
        margin = number
        lines = []
        for row in rows:
            lines.append((margin + row).rstrip())
            margin = " " * len(number)
        bands.append("\n".join(line for line in lines if line) + "\n")
        number = " " * len(number)
    return "\n".join(bands)


def format_grid(header: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> str:
    """A table in plain characters, its last columns folded to fit; empty without rows."""
    if not rows:
        return ""
    cells = [list(map(clean, header)), *(list(map(clean, row)) for row in rows)]
    widths = [max(width_of(row[i]) for row in cells) for i in range(len(header))]
    while sum(widths) + 2 * (len(widths) - 1) > width and max(widths) > 12:
        widths[widths.index(max(widths))] -= 1
    lines = []
    for number, row in enumerate(cells):
        folded = [
            textwrap.wrap(cell, size, break_on_hyphens=False) or [""]
            for cell, size in zip(row, widths, strict=True)
        ]
        for k in range(max(map(len, folded))):
            parts = [part[k] if k < len(part) else "" for part in folded]
            lines.append(_pad(parts, widths))
        if number == 0:
            lines.append(_pad(["-" * size for size in widths], widths))
    return "\n".join(lines) + "\n"


def _pad(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(
        cell + " " * (size - width_of(cell)) for cell, size in zip(cells, widths, strict=True)
    ).rstrip()


def _format_log(header: Sequence[str], rows: int, width: int) -> str:
    room = width - 3 * len(header) - 1
    shares = (11, 12, 7, 18, 9, 14)
    least = [width_of(cell) for cell in header]
    spare = max(0, room - sum(least))
    widths = [
        size + spare * share // sum(shares) for size, share in zip(least, shares, strict=True)
    ]
    rule = "+" + "+".join("-" * (size + 2) for size in widths) + "+"
    line = "|" + "|".join(" " * (size + 2) for size in widths) + "|"
    head = "| " + " | ".join(
        cell + " " * (size - width_of(cell)) for cell, size in zip(header, widths, strict=True)
    )
    return "\n".join([rule, f"{head} |", rule, *[line, rule] * rows]) + "\n"
