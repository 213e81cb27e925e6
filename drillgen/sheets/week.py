"""The material of the days of a plan, with a cover that says what to do on which day."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import NamedTuple

from drillgen.core.document import (
    Block,
    Column,
    Document,
    Paragraph,
    Section,
    Table,
    prose,
    prose_rows,
    text_of,
)
from drillgen.core.options import DrillOptions, Unit
from drillgen.core.printable import clean
from drillgen.core.values import Drill, Passage, Worksheet
from drillgen.core.wording import choose_wording, is_neutral
from drillgen.corpus.reader import load_passages, load_prompts
from drillgen.corpus.select import choose_prompts
from drillgen.practice.calendar import export_calendar
from drillgen.practice.log import LogEntry, Tension, summarize_log
from drillgen.practice.plan import Plan, Rung, Session, advise_step, format_log_sheet
from drillgen.sheets.drill import lay_out_drills
from drillgen.sheets.ladder import LadderOptions, lay_out_ladder, make_ladder
from drillgen.sheets.parts import care_section, make_document
from drillgen.sheets.plan import (
    PlanSheet,
    count_of,
    describe_session,
    lay_out_log,
    long_date,
    name_version,
    progress_section,
    session_sections,
    short_date,
)
from drillgen.sheets.prompts import lay_out_prompts, make_prompt_sheet
from drillgen.speech.pipeline import Engine, make_drill

TEXT_UNITS = (Unit.SENTENCE, Unit.PASSAGE)
"""Units that are read from texts; shorter ones come from lists, conversation from prompts."""

PACE = 2
"""Sessions at each stage (common practice: go on when two in a row went well)."""

PROMPTS = 2
"""In a session of conversation."""


@dataclass(frozen=True, slots=True)
class Day:
    """What a session needs."""

    session: Session
    title: str
    """What is read, as the cover names it."""

    sheet: Document
    head: Worksheet
    """The same drills, for a practice page."""

    source: str = ""
    """Where its text came from; empty for material of ours."""

    prompts: tuple[str, ...] = ()
    """Keys of the prompts that it uses."""


@dataclass(frozen=True, slots=True)
class Supply:
    """What the days are made of."""

    head: Worksheet
    """Pitch, repetitions and wording; title and drills are not read."""

    options: DrillOptions
    texts: tuple[Passage, ...] = ()
    """They take turns; without any, passages of ours do."""

    used_prompts: tuple[str, ...] = ()
    used_passages: tuple[str, ...] = ()


def make_days(plan: Plan, supply: Supply, engine: Engine) -> Iterator[Day]:
    """The material of each session, in turn: each has a text, list or prompts of its own."""
    # One log serves all days.
    supply = replace(supply, head=replace(supply.head, log_rows=0))
    texts = supply.texts or _own_passages(supply)
    used = list(supply.used_prompts)
    turn = 0
    for session in plan.sessions:
        unit = session.stage.unit
        if unit is Unit.CONVERSATION:
            day = _talk(session, supply, used, engine)
            used += day.prompts
        elif unit in TEXT_UNITS:
            day = _read(session, supply, texts[turn % len(texts)], turn + 1, engine)
            turn += 1
        else:
            day = _practise_list(session, supply, engine)
        yield day


def _own_passages(supply: Supply) -> tuple[Passage, ...]:
    """Passages of ours, the easier and those not used first."""
    fit = [
        p for p in load_passages() if not supply.head.discreet or is_neutral(f"{p.title} {p.text}")
    ]
    fit.sort(key=lambda p: (p.key in supply.used_passages, p.step, p.key))
    return tuple(Passage(p.text, p.title, p.key) for p in fit)


def _read(session: Session, supply: Supply, text: Passage, number: int, engine: Engine) -> Day:
    words = choose_wording(supply.head.discreet).week
    title = clean(text.title)
    if not title or (supply.head.discreet and not is_neutral(title)):
        title = words.text.format(number=number)
    drill = make_drill(replace(text, title=title), supply.options, engine=engine)
    head = replace(supply.head, title=title, drills=(drill,))
    return Day(session, title, lay_out_drills(head), head, text.source)


def _practise_list(session: Session, supply: Supply, engine: Engine) -> Day:
    unit = session.stage.unit
    # The session's number goes on from week to week, and so does the choice of items.
    choice = LadderOptions(first=unit, last=unit, seed=session.number)
    wording = choose_wording(supply.head.discreet)
    title = wording.week.lists.format(unit=wording.ladder.units[unit].name)
    head = replace(supply.head, title=title)
    ladder = make_ladder(choice, head, supply.options, engine)
    drills = ladder.units[0].drills
    return Day(session, title, lay_out_ladder(ladder), replace(head, drills=drills))


def _talk(session: Session, supply: Supply, used: Sequence[str], engine: Engine) -> Day:
    discreet = supply.head.discreet
    fit = load_prompts(locale=supply.options.spoken_locale)
    left = sum(prompt.key not in used for prompt in fit)
    chosen = choose_prompts(
        fit,
        step=None,
        topic=None,
        count=PROMPTS,
        seed=session.number,
        # A client who had them all begins again.
        history=used if left >= PROMPTS else (),
    )
    title = choose_wording(discreet).week.talk
    head = replace(supply.head, title=title)
    sheet = make_prompt_sheet(chosen, head, supply.options, engine)
    # On a practice page an answer stands under its question.
    drills: tuple[Drill, ...] = tuple(
        replace(item.drill, passage=replace(item.drill.passage, title=item.question))
        for item in sheet.items
    )
    keys = tuple(prompt.key for prompt in chosen)
    return Day(session, title, lay_out_prompts(sheet), replace(head, drills=drills), prompts=keys)


def lay_out_cover(
    plan: Plan, days: Sequence[Day], *, discreet: bool, pages: bool = True
) -> Document:
    """The cover: what to do on which day. `pages`: there are practice pages, too."""
    wording = choose_wording(discreet)
    words, week = wording.plan, wording.week
    sessions = count_of(len(days), words.counts["session"])
    facts = week.facts.format(sessions=sessions, minutes=plan.minutes)
    if plan.start:
        facts = f"{facts} {words.begins.format(date=long_date(plan.start, words))}"
    sheet = PlanSheet(plan, discreet=discreet)
    rows = []
    for day in days:
        number, date, unit, version, warm_up = map(text_of, describe_session(day.session, sheet))
        row = date or number, day.title, f"{unit}: {version}", warm_up, file_stem(day.session)
        rows.append(row)
    date, what, how, warm_up, file = week.columns
    columns = (
        Column(date),
        Column(what, 1.2, names=True),
        Column(how, 1),
        Column(warm_up),
        Column(file, whole=True),
    )
    blocks: tuple[Block, ...] = (
        Paragraph(prose(facts)),
        Paragraph(prose(plan.advice.reason, label=f"{words.reason}:")),
        Paragraph(prose(week.about[not pages])),
        Section(week.days, (Table(columns, prose_rows(rows)), Paragraph(prose(week.log)))),
        *session_sections(plan, wording),
        care_section(wording, beside=False),
    )
    return make_document(week.title, wording, blocks)


class Printers(NamedTuple):
    """What turns documents into files: this room knows no writer."""

    sheet: Callable[[Document], bytes]
    """A document as a PDF."""

    page: Callable[[Worksheet, bool], bytes] | None = None
    """Drills as a practice page, and whether they answer questions; None: none are wanted."""


def make_files(
    plan: Plan,
    days: Sequence[Day],
    log: Sequence[LogEntry],
    printers: Printers,
    *,
    discreet: bool,
    time: datetime.time | None = None,
    key: str = "",
) -> dict[str, bytes]:
    """All files of a week, by name. Their names say nothing but the number of the session.

    `time` is the time of day in the calendar, `key` tells its events from those of others.
    The plan must have dates.
    """
    cover = lay_out_cover(plan, days, discreet=discreet, pages=printers.page is not None)
    files = {
        "start-here.pdf": printers.sheet(cover),
        "log.pdf": printers.sheet(lay_out_log(PlanSheet(plan, discreet=discreet))),
        "log.csv": format_log_sheet(plan, discreet=discreet).encode(),
        "sessions.ics": export_calendar(plan, time=time, key=key),
    }
    if log:
        progress = lay_out_progress(log, discreet=discreet, rungs=plan.rungs)
        files["progress.pdf"] = printers.sheet(progress)
    for day in days:
        name = file_stem(day.session)
        files[f"{name}.pdf"] = printers.sheet(day.sheet)
        if printers.page is not None:
            files[f"{name}.html"] = printers.page(day.head, bool(day.prompts))
    return files


def file_stem(session: Session) -> str:
    """What the files of a session are called: nothing but its number."""
    return f"day-{session.number:02}"


def lay_out_progress(
    log: Sequence[LogEntry], *, discreet: bool, rungs: int = 1, teacher: bool = False
) -> Document:
    """A page on the sessions so far, for the client or, with all rows, for the teacher."""
    wording = choose_wording(discreet)
    words, week = wording.plan, wording.week
    rungs = max(rungs, *(entry.rung for entry in log))
    last = log[-1]
    at = week.at.format(
        unit=wording.ladder.units[last.unit].title,
        version=name_version(Rung(last.kind, last.rung), rungs, wording),
    )
    here = Section(
        week.here,
        (Paragraph(prose(at)), Paragraph(prose(advise_step(log).reason, label=f"{week.next}:"))),
    )
    chart = progress_section(summarize_log(log), words)
    if not teacher:
        blocks: tuple[Block, ...] = (here, chart, care_section(wording, beside=False))
        return make_document(week.progress, wording, blocks)

    def stage_of(entry: LogEntry) -> tuple[str, str]:
        version = name_version(Rung(entry.kind, entry.rung), rungs, wording)
        return wording.ladder.units[entry.unit].one, version

    stages = [
        (
            *stage,
            str(len(entries)),
            f"{sum(e.met for e in entries) / len(entries):.1f}",
            str(sum(e.tension is not Tension.NONE for e in entries)),
        )
        for stage, group in groupby(log, key=stage_of)
        for entries in [list(group)]
    ]
    number, date, unit, version, _, *rest = words.columns
    rows = [
        (
            str(e.session),
            short_date(e.date, words) if e.date else "",
            *stage_of(e),
            *(week.yes if met else week.no for met in e.criteria[:-1]),
            str(e.tension.value),
            e.note,
        )
        for e in log
    ]
    columns = (*map(Column, (number, date, unit, version, *rest[:-1])), Column(rest[-1], 1))
    return make_document(
        week.teacher,
        wording,
        (
            here,
            chart,
            Section(week.stages, (_table(tuple(map(Column, week.stage_columns)), stages),)),
            Section(week.sessions, (_table(columns, rows),)),
        ),
    )


def _table(columns: tuple[Column, ...], rows: Sequence[Sequence[str]]) -> Table:
    return Table(columns, prose_rows(map(clean, row) for row in rows))
