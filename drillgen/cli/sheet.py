"""`drillgen sheet`: a text in, a printable sheet out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from drillgen.cli.common import check_sayable, note_texts, report_doubts, report_rungs, stem_of
from drillgen.cli.options import (
    Grading,
    Output,
    Paper,
    Practice,
    Texts,
    of_files,
    of_out,
    of_sheet,
)
from drillgen.cli.output import STANDARD_OUTPUT, Outputs, read_formats, render_document
from drillgen.core.errors import InputError
from drillgen.core.options import DrillOptions, Format, PageOptions
from drillgen.core.values import Drill, Passage, Worksheet

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
    HTML = Format.HTML
    JSON = Format.JSON
    JSON_LINES = "jsonl"


@dataclass(frozen=True)
class SheetOutput(Output):
    """Where a sheet goes, or one for each text."""

    out: Annotated[
        Path | None,
        of_out("A file, a folder (a sheet a text), or - to print. Default: NAME-drill.pdf."),
    ] = None
    formats: Annotated[
        list[str] | None, of_files(f"{', '.join(SheetFormat)}. Repeatable.", "--format", "-f")
    ] = None

    def jobs(
        self, passages: tuple[Passage, ...], outputs: Outputs, *, discreet: bool
    ) -> tuple[_Job, ...]:
        """What goes into which files; all of them are claimed."""
        formats, out = read_formats(self.formats, self.out, SheetFormat.PDF), self.out
        if out == STANDARD_OUTPUT or (out is not None and out.suffix and not out.is_dir()):
            return (_Job(passages, outputs.plan(formats, out, "")),)
        jobs = []
        taken: set[str] = set()
        for passage in passages:
            stem, number = stem_of(passage), 2
            while stem in taken:
                stem, number = f"{stem_of(passage)}-{number}", number + 1
            taken.add(stem)
            base = f"{stem}-sheet" if discreet else f"{stem}-drill"
            jobs.append(_Job((passage,), outputs.plan(formats, out, base, is_folder=True)))
        return tuple(jobs)


@dataclass(frozen=True, slots=True)
class _Job:
    """Passages that go into one sheet."""

    passages: tuple[Passage, ...]
    paths: Mapping[SheetFormat, Path | None]
    """Its files, by format; None is standard output."""

    @property
    def title(self) -> str:
        """The heading of a single text; the layout has one of its own for several."""
        return self.passages[0].title if len(self.passages) == 1 else ""

    @property
    def streams(self) -> bool:
        """Whether it is written in pieces."""
        length = sum(len(passage.text) for passage in self.passages)
        return length > STREAM_CHARACTERS or SheetFormat.JSON_LINES in self.paths


def sheet(
    texts: Texts,
    grading: Grading,
    practice: Practice,
    paper: Paper,
    output: SheetOutput,
    review: Annotated[
        bool, of_sheet("The list of words to check.", "--review/--no-review")
    ] = True,
    ipa: Annotated[bool, of_sheet("Add IPA to the full swap.", "--ipa")] = False,
    flow: Annotated[bool, of_sheet("Mark weak words and links.", "--flow/--no-flow")] = True,
) -> None:
    """Make a drill sheet (PDF; Markdown, plain text, HTML or JSON on request)."""
    options, page = grading.options, paper.page
    head = replace(practice.head, show_review=review, show_ipa=ipa, show_flow=flow)
    passages = texts.passages()
    outputs = output.open(texts, grading, notes=grading.client)
    jobs = output.jobs(passages, outputs, discreet=head.discreet)
    engine = grading.engine()
    for job in jobs:
        titled = replace(head, title=head.title or job.title)
        made = (
            _stream(job, titled, options, engine, outputs)
            if job.streams
            else _write_at_once(job, titled, options, engine, page, outputs)
        )
        report_rungs(made)
        report_doubts(made, listed=review)
    note_texts(grading.client, passages)


def _write_at_once(
    job: _Job,
    head: Worksheet,
    options: DrillOptions,
    engine: Engine,
    page: PageOptions,
    outputs: Outputs,
) -> Sequence[Drill]:
    """Make a sheet in memory and write it; nothing is written if any format fails."""
    from drillgen.sheets.drill import lay_out_drills
    from drillgen.speech.pipeline import make_drill
    from drillgen.write.json import render_json

    drills = tuple(make_drill(p, options, engine=engine) for p in job.passages)
    check_sayable(drills)
    worksheet = replace(head, drills=drills)
    document = lay_out_drills(worksheet)
    rendered = {
        kind: render_json(worksheet).encode()
        if kind is SheetFormat.JSON
        else render_document(document, Format(kind), page)
        for kind in job.paths
    }
    for kind, data in rendered.items():
        outputs.write(job.paths[kind], data)
    return drills


def _stream(
    job: _Job, head: Worksheet, options: DrillOptions, engine: Engine, outputs: Outputs
) -> Sequence[Drill]:
    """Write a long text a few paragraphs at a time, in flat memory."""
    from drillgen.sheets.drill import iter_drill_blocks, open_drills
    from drillgen.speech.pipeline import iter_drills
    from drillgen.write import render_stream
    from drillgen.write.json import iter_json_lines

    told: list[Drill] = []

    def drills() -> Iterator[Drill]:
        said = False
        for passage in job.passages:
            for drill in iter_drills(
                passage.text.splitlines(keepends=True), options, engine=engine
            ):
                # Of a long text only what has to be told is kept.
                told.append(replace(drill, phrases=(), readings=(), flow=(), versions=()))
                said = said or any(reading for row in drill.readings for reading in row)
                yield drill
        if not said:
            check_sayable(())

    streams: dict[SheetFormat, Iterable[bytes]] = {}
    for kind in job.paths:
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
        outputs.write(job.paths[kind], pieces)
    return told
