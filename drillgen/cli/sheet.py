"""`drillgen sheet`: a text in, a printable sheet out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from drillgen.cli.common import (
    Accents,
    Encoding,
    Files,
    GivenText,
    Locales,
    TargetVowel,
    WordLists,
    check_folder,
    load_engine,
    read_passages,
    report_doubts,
    stem_of,
)
from drillgen.cli.output import (
    STANDARD_OUTPUT,
    Discreet,
    Large,
    Partial,
    Pitches,
    Repetitions,
    Rungs,
    Size,
    read_formats,
    read_options,
    read_page,
    read_pitch,
    read_repetitions,
    render_document,
    write_output,
)
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import InputError
from drillgen.core.options import DrillOptions, Format, PageOptions, PageSize, Strategy
from drillgen.core.values import Drill, Passage, ReviewItem, Worksheet

STREAM_CHARACTERS: Final = 300_000
"""A longer text (about 50,000 words) is written in pieces. Its PDF would have some 2,000
pages, which nobody prints."""

if TYPE_CHECKING:
    from drillgen.speech.pipeline import Engine


class SheetFormat(StrEnum):
    """File formats of a sheet: those of other documents, and one for long texts."""

    PDF = Format.PDF
    MARKDOWN = Format.MARKDOWN
    TEXT = Format.TEXT
    JSON = Format.JSON
    JSON_LINES = "jsonl"


@dataclass(frozen=True, slots=True)
class _Job:
    """Passages that go into one file."""

    passages: tuple[Passage, ...]
    stem: Path
    """Where the file goes, without its ending."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("sheet")(sheet)


def sheet(
    files: Files = None,
    text: GivenText = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="A file (all texts in one sheet), a folder (a sheet for each text), or - for "
            "standard output. Default: NAME-drill.pdf here.",
        ),
    ] = None,
    formats: Annotated[
        list[str] | None,
        typer.Option("--format", "-f", help="pdf, md, txt, json or jsonl. Repeatable."),
    ] = None,
    title: Annotated[str | None, typer.Option("--title", help="Heading of the sheet.")] = None,
    pitch: Pitches = "G3",
    target: TargetVowel = "i",
    accent: Accents = DEFAULT_ACCENT,
    locale: Locales = "",
    partial: Partial = Strategy.STRESSED.value,
    rungs: Rungs = 1,
    repetitions: Repetitions = 3,
    size: Size = PageSize.A4.value,
    large: Large = False,
    discreet: Discreet = False,
    review: Annotated[
        bool, typer.Option("--review/--no-review", help="Print the list of words to check.")
    ] = True,
    ipa: Annotated[bool, typer.Option("--ipa", help="Add IPA to the full swap.")] = False,
    flow: Annotated[
        bool,
        typer.Option("--flow/--no-flow", help="Mark weak words and links in the full swap."),
    ] = True,
    words: WordLists = None,
    encoding: Encoding = None,
) -> None:
    """Make a drill sheet (PDF; Markdown, plain text or JSON on request)."""
    chosen_formats = read_formats(formats, out, SheetFormat.PDF)
    options = read_options(target, accent, partial, rungs, locale)
    page = read_page(size, large)
    tone = read_pitch(pitch)
    read_repetitions(repetitions)
    passages = read_passages(files, text, encoding)
    jobs = _plan_jobs(passages, out)
    for job in jobs:
        for kind in chosen_formats:
            path = _target_path(job, kind, out)
            if path is not None:
                check_folder(path)

    engine = load_engine(words, options.accent)
    for job in jobs:
        head = Worksheet(
            drills=(),
            title=title or _title_of(job),
            pitch=tone,
            repetitions=repetitions,
            discreet=discreet,
            show_review=review,
            show_ipa=ipa,
            show_flow=flow,
        )
        doubts = (
            _stream(job, head, chosen_formats, options, engine, out)
            if _is_long(job) or SheetFormat.JSON_LINES in chosen_formats
            else _write_at_once(job, head, chosen_formats, options, engine, page, out)
        )
        report_doubts(doubts, listed=review)


def _write_at_once(
    job: _Job,
    head: Worksheet,
    formats: Sequence[SheetFormat],
    options: DrillOptions,
    engine: Engine,
    page: PageOptions,
    out: Path | None,
) -> list[ReviewItem]:
    """Make a sheet in memory and write it; nothing is written if any format fails."""
    from drillgen.sheets.drill import lay_out_drills
    from drillgen.speech.pipeline import make_drill
    from drillgen.write.json import render_json

    drills = tuple(make_drill(p, options, engine=engine) for p in job.passages)
    worksheet = replace(head, drills=drills)
    document = lay_out_drills(worksheet)
    rendered = [
        (
            kind,
            render_json(worksheet).encode()
            if kind is SheetFormat.JSON
            else render_document(document, Format(kind), page),
        )
        for kind in formats
    ]
    for kind, data in rendered:
        write_output(_target_path(job, kind, out), data)
    return [item for drill in drills for item in drill.review]


def _is_long(job: _Job) -> bool:
    return sum(len(passage.text) for passage in job.passages) > STREAM_CHARACTERS


def _stream(
    job: _Job,
    head: Worksheet,
    formats: Sequence[SheetFormat],
    options: DrillOptions,
    engine: Engine,
    out: Path | None,
) -> list[ReviewItem]:
    """Write a long text a few paragraphs at a time, in flat memory."""
    from drillgen.sheets.drill import iter_drill_blocks, open_drills
    from drillgen.speech.pipeline import iter_drills
    from drillgen.write import render_stream
    from drillgen.write.json import iter_json_lines

    doubts: dict[str, ReviewItem] = {}

    def drills() -> Iterator[Drill]:
        for passage in job.passages:
            for drill in iter_drills(
                passage.text.splitlines(keepends=True), options, engine=engine
            ):
                for item in drill.review:
                    doubts.setdefault(item.word, item)
                yield drill

    streams: dict[SheetFormat, Iterable[bytes]] = {}
    for kind in formats:
        if kind is SheetFormat.JSON_LINES:
            streams[kind] = (line.encode() for line in iter_json_lines(drills(), head))
            continue
        stream = render_stream(open_drills(head), iter_drill_blocks(drills(), head), Format(kind))
        if stream is None:
            raise InputError(
                f"the text is too long for one {kind} file",
                "split it, or use --format md, txt or jsonl",
            )
        streams[kind] = stream
    for kind, pieces in streams.items():
        write_output(_target_path(job, kind, out), pieces)
    return list(doubts.values())


def _plan_jobs(passages: tuple[Passage, ...], out: Path | None) -> tuple[_Job, ...]:
    if out == STANDARD_OUTPUT:
        return (_Job(passages, STANDARD_OUTPUT),)
    if out is not None and out.suffix and not out.is_dir():
        return (_Job(passages, out.with_suffix("")),)
    folder = out or Path()
    jobs = []
    taken: set[str] = set()
    for passage in passages:
        stem = stem_of(passage)
        number = 2
        while stem in taken:
            stem = f"{stem_of(passage)}-{number}"
            number += 1
        taken.add(stem)
        jobs.append(_Job((passage,), folder / f"{stem}-drill"))
    return tuple(jobs)


def _target_path(job: _Job, kind: SheetFormat, out: Path | None) -> Path | None:
    """Where a format of a job goes; None for standard output."""
    if out == STANDARD_OUTPUT:
        return None
    if out is not None and out.suffix and not out.is_dir() and out.suffix[1:].lower() == kind:
        return out
    return job.stem.with_name(f"{job.stem.name}.{kind}")


def _title_of(job: _Job) -> str:
    if len(job.passages) == 1 and job.passages[0].title:
        return job.passages[0].title
    # The renderer has a heading of its own for either wording.
    return ""
