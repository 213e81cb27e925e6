"""`drillgen week`: all that a client practises with on the next days; `drillgen progress`."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from drillgen.cli.common import read_text, report_doubts, tell
from drillgen.cli.options import (
    Documents,
    ForClient,
    Grading,
    Heading,
    Output,
    Paper,
    Practice,
    Schedule,
    of_drill,
    of_files,
    of_out,
    of_text,
    of_when,
    option,
)
from drillgen.cli.output import make_key, render_document
from drillgen.core.errors import InputError, OptionError, placed
from drillgen.core.options import Format, Unit, parse_choice
from drillgen.core.sources import read_passage
from drillgen.core.values import Passage

if TYPE_CHECKING:
    from drillgen.practice.clients import Client
    from drillgen.practice.log import LogEntry
    from drillgen.practice.plan import Plan

ENDINGS: Final = (".txt", ".md", ".docx", ".odt", ".pdf")
"""Of the files that are taken from a folder of texts."""


@dataclass(frozen=True)
class WeekSchedule(Schedule):
    """When the sessions are; one week as a rule."""

    weeks: Annotated[int, of_when("1 to 52.")] = 1
    start: Annotated[
        str | None,
        of_when("First day, such as 2030-01-31. Default: today, or the day after the log's last."),
    ] = None


@dataclass(frozen=True)
class WeekOutput(Output):
    """Where the folder goes."""

    out: Annotated[
        Path | None, of_out("A folder, or a .zip file. Default: sessions-DATE here.")
    ] = None


def week(
    grading: Grading,
    practice: Practice,
    paper: Paper,
    schedule: WeekSchedule,
    output: WeekOutput,
    texts: Annotated[
        Path | None, of_text("A folder of texts, taken in turn. Default: ours.", "--from")
    ] = None,
    first: Annotated[
        str, of_drill("Where to begin: " + ", ".join(Unit) + ".", "--unit")
    ] = Unit.SYLLABLE.value,
    log: Annotated[
        Path | None, of_files("A filled log (CSV) to go on from; --client keeps it.")
    ] = None,
    time: Annotated[str | None, of_when("Time of day in the calendar, such as 18:30.")] = None,
    pages: Annotated[bool, of_files("A practice page a day.", "--pages/--no-pages")] = True,
    client: ForClient = None,
) -> None:
    """Make the material of a week: sheets, practice pages, log, calendar, and a cover."""
    from drillgen.core.files import zip_files
    from drillgen.practice.clients import add_log, note_used
    from drillgen.practice.plan import make_plan, parse_time
    from drillgen.sheets.practice_page import make_practice_page
    from drillgen.sheets.week import PACE, Printers, Supply, make_days, make_files
    from drillgen.write.page import render_page

    with placed("--time"):
        at = parse_time(time) if time is not None else None
    sessions = _read_sessions(log, client)
    start = schedule.first_day or _next_day(sessions)
    plan = make_plan(
        **schedule.when,
        start=start,
        rungs=grading.rungs,
        first=parse_choice(Unit, first, "--unit"),
        log=sessions,
        pace=PACE,
    )
    out = output.out or Path(f"sessions-{start}")
    zipped = out.suffix.lower() == ".zip"
    files = _list_texts(texts) if texts else ()
    outputs = output.open(grading, reads=(log, *files), notes=client)
    outputs.claim(out) if zipped else outputs.claim_folder(out)
    head = practice.head
    before = _forget_days(client, plan) if client and out.exists() else client
    used = before.passages if before else ()
    prompts = before.used_prompts if before else ()
    supply = Supply(head, grading.options, _read_texts(files, used), prompts, used)
    key = make_key(client.alias) if client else ""
    days = tuple(make_days(plan, supply, grading.engine()))
    printers = Printers(
        lambda document: render_document(document, Format.PDF, paper.page),
        (lambda sheet, asks: render_page(make_practice_page(sheet, asks=asks)).encode())
        if pages
        else None,
    )
    made = make_files(plan, days, sessions, printers, discreet=head.discreet, time=at, key=key)
    outputs.write(out, zip_files(made)) if zipped else outputs.write_folder(out, made)
    if before is not None:
        if log is not None:
            add_log(before, sessions)
        sources = (Path(day.source).name for day in days if day.source)
        note_used(before, sources, (day.prompts for day in days), instead_of=client)
    typer.echo(plan.advice.reason, err=True)
    report_doubts(drill for day in days for drill in day.head.drills)


def _read_sessions(log: Path | None, client: ForClient) -> tuple[LogEntry, ...]:
    """The sessions so far: the client's, with those of a filled log."""
    from drillgen.practice.log import merge_logs, parse_log

    old = client.read_log() if client else ()
    return merge_logs(old, parse_log(read_text(log), name=str(log))) if log else old


def _next_day(log: Sequence[LogEntry]) -> datetime.date:
    today = datetime.date.today()
    last = log[-1].date if log else None
    return max(today, last + datetime.timedelta(days=1)) if last else today


def _list_texts(folder: Path) -> tuple[Path, ...]:
    """The texts of a folder, in the order of their names: 2 comes before 10."""

    def natural(path: Path) -> list[tuple[int, str]]:
        parts = re.findall(r"\d+|\D+", path.name.lower())
        return [(int(part), "") if part.isdigit() else (-1, part) for part in parts]

    if folder.is_file():
        return (folder,)
    try:
        found = [p for p in folder.iterdir() if p.suffix.lower() in ENDINGS and p.name[0] != "."]
    except OSError as error:
        problem = f"can't be read ({error.strerror})"
        raise InputError(problem, "name a folder of texts", file=folder) from None
    if not found:
        mend = f"put files in it that end in {', '.join(ENDINGS)}"
        raise InputError("there are no texts in it", mend, file=folder)
    return tuple(sorted(found, key=natural))


def _read_texts(files: Iterable[Path], used: Sequence[str]) -> tuple[Passage, ...]:
    """The texts, those that were not used first, then those that were used longest ago."""
    order = sorted(files, key=lambda path: used.index(path.name) if path.name in used else -1)
    return tuple(read_passage(path, None, tell) for path in order)


def _forget_days(client: Client, plan: Plan) -> Client:
    """The client before a week that is made again: it takes the same texts and prompts."""
    from drillgen.sheets.week import TEXT_UNITS

    units = [session.stage.unit for session in plan.sessions]
    texts, talks = sum(unit in TEXT_UNITS for unit in units), units.count(Unit.CONVERSATION)
    return replace(
        client,
        passages=client.passages[: max(0, len(client.passages) - texts)],
        prompts=client.prompts[: max(0, len(client.prompts) - talks)],
    )


def progress(
    heading: Heading,
    paper: Paper,
    output: Documents,
    log: Annotated[Path | None, option("A filled log (CSV). Default: the client's.")] = None,
    teacher: Annotated[
        bool, option("The teacher's page: every session, with notes.", "--teacher")
    ] = False,
    rungs: Annotated[int, option("Partial versions: 0 to 12.")] = 1,
    client: ForClient = None,
) -> None:
    """Make a page on the sessions so far, for the client or for the teacher."""
    from msgspec import structs

    from drillgen.sheets.week import lay_out_progress

    if log is None and client is None:
        raise OptionError("there is no log", "give --log FILE or --client NAME")
    sessions = _read_sessions(log, client)
    if not sessions:
        raise InputError("no session is filled in yet", "tick a cell of each session", file="log")
    outputs = output.open(reads=(log, client.file if client else None))
    paths = output.plan(outputs, "progress-teacher" if teacher else "progress")
    document = lay_out_progress(sessions, discreet=heading.discreet, rungs=rungs, teacher=teacher)
    if heading.title:
        document = structs.replace(document, title=heading.title)
    made = {kind: render_document(document, kind, paper.page) for kind in paths}
    for kind, data in made.items():
        outputs.write(paths[kind], data)
