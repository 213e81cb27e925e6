"""`drillgen plan`: sessions over some weeks, as pages, a calendar and a log."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import read_text
from drillgen.cli.options import Documents, ForClient, Heading, Paper, Schedule, option
from drillgen.cli.output import make_key, render_document, render_sheets
from drillgen.core.errors import DrillgenError, OptionError, OutputError, placed
from drillgen.core.options import Format, Unit, parse_choice

if TYPE_CHECKING:
    from drillgen.practice.log import LogEntry


def plan(
    heading: Heading,
    paper: Paper,
    output: Documents,
    schedule: Schedule,
    rungs: Annotated[int, option("Partial versions on the way: 0 to 12.")] = 1,
    first: Annotated[str, option("First unit: " + ", ".join(Unit) + ".", "--from")] = (
        Unit.SYLLABLE.value
    ),
    last: Annotated[str, option("Last unit.", "--to")] = Unit.CONVERSATION.value,
    log: Annotated[
        Path | None, option("A filled log (CSV) to go on from. Default: the client's.")
    ] = None,
    log_sheet: Annotated[
        Path | None, option("Write an empty log, too: .csv to fill in, or .pdf … to print.")
    ] = None,
    ical: Annotated[Path | None, option("Write a calendar file, too. Needs --start.")] = None,
    time: Annotated[str | None, option("Time of day in the calendar: 18:30.")] = None,
    event_title: Annotated[str | None, option("What the calendar shows.")] = None,
    client: ForClient = None,
) -> None:
    """Lay out a practice plan with a log; a filled log shows progress in the next plan."""
    from drillgen.practice.plan import format_log_sheet, make_plan, parse_time
    from drillgen.sheets.plan import PlanSheet, lay_out_log, lay_out_plan, plan_values

    if time is not None and ical is None:
        raise OptionError("--time is for the calendar", "add --ical FILE")
    printed = _read_log_format(log_sheet)
    if log_sheet is not None and printed is None:
        _refuse_filled(log_sheet)
    outputs, page = output.open(reads=(log, client.file if client else None)), paper.page
    paths = output.plan(outputs, "plan")
    for extra in (log_sheet, ical):
        if extra is not None:
            outputs.claim(extra)
    made = make_plan(
        **schedule.when,
        start=schedule.first_day,
        rungs=rungs,
        first=parse_choice(Unit, first, "--from"),
        last=parse_choice(Unit, last, "--to"),
        log=_read_log(log) if log else client.read_log() if client else (),
    )
    sheet = PlanSheet(made, heading.title, heading.discreet)
    document, values = lay_out_plan(sheet), ("drillgen-plan", 1, "plan", plan_values(sheet))
    files = render_sheets(paths, document, values, page, discreet=heading.discreet)
    if log_sheet is not None and printed is None:
        files.append((log_sheet, format_log_sheet(made, discreet=heading.discreet).encode()))
    elif log_sheet is not None and printed is not None:
        files.append((log_sheet, render_document(lay_out_log(sheet), printed, page)))
    if ical is not None:
        from drillgen.practice.calendar import export_calendar

        if made.start is None:
            raise OptionError(
                "--ical needs a first day", "add --start, such as --start 2030-01-31"
            )
        with placed("--time"):
            at = parse_time(time) if time is not None else None
        key = make_key(client.alias) if client else ""
        files.append((ical, export_calendar(made, time=at, title=event_title, key=key)))
    for path, data in files:
        outputs.write(path, data, private=path is not None and path == log_sheet)
    typer.echo(made.advice.reason, err=True)


def _read_log_format(path: Path | None) -> Format | None:
    """How an empty log is printed; None for CSV."""
    ending = path.suffix[1:].lower() if path else ""
    return Format(ending) if ending in [*Format] else None


def _read_log(path: Path) -> tuple[LogEntry, ...]:
    from drillgen.practice.log import parse_log

    return parse_log(read_text(path), name=str(path))


def _refuse_filled(path: Path) -> None:
    """A log that somebody filled in is never written over."""
    if not path.is_file():
        return
    try:
        filled = _read_log(path)
    except DrillgenError:
        raise OutputError(
            "it is there already and is no empty log", "choose another name", file=path
        ) from None
    if filled:
        raise OutputError(
            "this is a filled log", "choose another name for the empty one", file=path
        )
