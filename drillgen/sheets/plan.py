"""A practice plan: what a session is, when to move, the sessions with their log."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from drillgen.core.document import (
    Answer,
    AnswerKind,
    Block,
    Chart,
    Column,
    Document,
    Items,
    Keep,
    ListKind,
    Paragraph,
    Point,
    Section,
    Spans,
    Table,
    prose,
)
from drillgen.core.options import Unit
from drillgen.core.printable import clean
from drillgen.core.values import Delivery, VersionKind
from drillgen.core.wording import PlanWording, Wording, choose_wording
from drillgen.practice.log import Progress
from drillgen.practice.plan import Activity, Plan
from drillgen.sheets.parts import BODY, care_section, make_document

WARM_UP: Final = "warm-up"
REST: Final = "rest"
CLOSE: Final = "close"


@dataclass(frozen=True, slots=True)
class PlanBlock:
    """A stretch of every session."""

    seconds: int
    delivery: Delivery | None
    """What is read; None: see `activity`."""

    activity: str
    """WARM_UP, REST or CLOSE; empty where something is read."""


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One session of the table."""

    number: int
    week: int
    date: datetime.date | None
    unit: Unit
    kind: VersionKind
    """What is read in the inflected delivery."""

    rung: int
    """Of a partial version, from 1 at the fewest swapped vowels; 0 otherwise."""

    warm_up: int
    """Index in the list of warm-ups."""


@dataclass(frozen=True, slots=True)
class PlanPoint:
    """A session of the log so far."""

    session: int
    met: int
    """Of five things."""

    tense: bool


@dataclass(frozen=True, slots=True)
class PlanProgress:
    """The log so far."""

    minutes: float
    points: tuple[PlanPoint, ...]
    rates: tuple[float, float, float, float, float]
    """Share of the sessions that met each thing, 0 to 1."""


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """All that a printed plan shows."""

    weeks: int
    days: int
    minutes: int
    rungs: int
    start: datetime.date | None
    reason: str
    """Why it begins where it does."""

    finishes: bool
    blocks: tuple[PlanBlock, ...]
    """The stretches of a session; all sessions have the same."""

    sessions: tuple[PlanRow, ...]
    progress: PlanProgress | None = None
    title: str = ""
    discreet: bool = False


_ACTIVITIES = {
    Activity.WARM_UP: WARM_UP,
    Activity.REST: REST,
    Activity.CLOSE: CLOSE,
    Activity.READ: "",
}


def make_plan_sheet(plan: Plan, *, title: str = "", discreet: bool = False) -> PlanSheet:
    """The values of a plan that are printed. All its sessions have the same stretches of time."""
    first = plan.sessions[0]
    warm_ups = len(choose_wording(discreet).plan.warm_up_texts)
    return PlanSheet(
        weeks=plan.weeks,
        days=plan.days,
        minutes=plan.minutes,
        rungs=plan.rungs,
        start=plan.start,
        reason=plan.advice.reason,
        finishes=plan.finishes,
        blocks=tuple(
            PlanBlock(block.seconds, block.delivery, _ACTIVITIES[block.activity])
            for block in first.blocks
        ),
        sessions=tuple(
            PlanRow(
                session.number,
                session.week,
                session.date,
                session.stage.unit,
                session.stage.rung.kind,
                session.stage.rung.number,
                (session.number - 1) % warm_ups,
            )
            for session in plan.sessions
        ),
        progress=_lay_out_progress(plan.progress) if plan.progress else None,
        title=title,
        discreet=discreet,
    )


def _lay_out_progress(progress: Progress) -> PlanProgress:
    felt, heard, pitch, inflection, loose = progress.rates
    return PlanProgress(
        progress.minutes,
        tuple(PlanPoint(point.session, point.met, point.tense) for point in progress.points),
        (felt, heard, pitch, inflection, loose),
    )


# What it says


def lay_out_plan(sheet: PlanSheet) -> Document:
    """The plan as a reader sees it."""
    wording = choose_wording(sheet.discreet)
    words = wording.plan
    facts = words.facts.format(
        weeks=_count(sheet.weeks, words.counts["week"]),
        days=_count(sheet.days, words.counts["session"]),
        minutes=sheet.minutes,
    )
    if sheet.start:
        facts = f"{facts} {words.begins.format(date=_long_date(sheet.start, words))}"
    notes = [words.use, *([] if sheet.finishes else [words.unfinished])]
    progress = [_progress_section(sheet.progress, words)] if sheet.progress else []
    warm_ups = [
        prose(text, label=f"{_letter(number)}.") for number, text in enumerate(words.warm_up_texts)
    ]
    moves = map(prose, (words.step_up, words.step_back, words.stop, words.slow))
    blocks: list[Block] = [
        Paragraph(prose(facts)),
        Paragraph(prose(sheet.reason, label=f"{words.reason}:")),
        *(Paragraph(prose(note)) for note in notes),
        *progress,
        _session_section(sheet, wording),
        Section(words.warm_ups, (Items(tuple(warm_ups), ListKind.LABELS),)),
        Section(words.move, (Items(tuple(moves)),), beside=True),
        _weeks_section(sheet, wording),
        care_section(wording, beside=False),
    ]
    return make_document(clean(sheet.title) or words.title, wording, blocks)


def lay_out_log(sheet: PlanSheet) -> Document:
    """The sessions of a plan alone, to fill in with a pen."""
    wording = choose_wording(sheet.discreet)
    blocks = (_weeks_section(sheet, wording),)
    return make_document(clean(sheet.title) or wording.log, wording, blocks)


def _session_section(sheet: PlanSheet, wording: Wording) -> Section:
    words = wording.plan
    talks = any(row.unit is Unit.CONVERSATION for row in sheet.sessions)
    time, what, how = words.session_columns
    rows = tuple(
        tuple(map(prose, _describe_block(block, wording, talks))) for block in sheet.blocks
    )
    table = Table((Column(time), Column(what, names=True), Column(how, 1)), rows)
    return Section(words.session, (table,), note=words.session_note)


def _weeks_section(sheet: PlanSheet, wording: Wording) -> Section:
    """The sessions, a week a table, each with room for its answers."""
    words = wording.plan
    *texts, felt, heard, pitch, tune, tension, note = words.columns
    # Millimetres on A4: all weeks have the same columns.
    columns = tuple(map(Column, texts, (7, 19, 20.5, 24, 15.5)))
    answers = (
        *(
            Answer(name, AnswerKind.TICK, share=share)
            for name, share in ((felt, 8.5), (heard, 11), (pitch, 11), (tune, 16.5))
        ),
        Answer(tension, AnswerKind.SCALE, marks=tuple(words.tension.split()), share=14),
        Answer(note, share=23),
    )
    weeks = tuple(
        Section(
            words.week.format(number=week),
            (Table(columns, tuple(_describe_row(row, sheet, wording) for row in rows), answers),),
            3,
            keep=Keep.WHOLE,
            compact=True,
        )
        for week, rows in groupby(sheet.sessions, key=lambda row: row.week)
    )
    return Section(words.sessions, weeks, note=words.fill, rank=BODY)


def _progress_section(progress: PlanProgress, words: PlanWording) -> Section:
    said = words.progress_note.format(
        sessions=_count(len(progress.points), words.counts["session"]),
        minutes=f"{progress.minutes:g}",
    )
    points = "; ".join(
        words.chart_point.format(session=point.session, met=point.met) for point in progress.points
    )
    chart = Chart(
        tuple(Point(point.session, point.met, point.tense) for point in progress.points),
        len(words.criteria),
        words.chart_across,
        words.chart_up,
        words.chart_ring,
        words.chart_stars,
        words.chart_alt.format(points=points),
    )
    thing, share = words.rates
    rows = tuple(
        (prose(name), prose(f"{rate:.0%}"))
        for name, rate in zip(words.criteria, progress.rates, strict=True)
    )
    table = Table((Column(thing, 1), Column(share)), rows, beside=True)
    return Section(words.progress, (Paragraph(prose(said)), chart, table))


def _describe_block(block: PlanBlock, wording: Wording, talks: bool) -> tuple[str, str, str]:
    words = wording.plan
    minutes, seconds = divmod(block.seconds, 60)
    time = f"{minutes}:{seconds:02d}"
    if block.delivery is None:
        name, cue = {
            WARM_UP: (words.warm_up, words.warm_up_cue),
            REST: (words.rest, words.rest_cue),
            CLOSE: (words.close, words.close_cue),
        }[block.activity]
        return time, name, cue
    text = next(text for text in wording.deliveries if text.delivery is block.delivery)
    version = {
        Delivery.CHANT: wording.full,
        Delivery.INFLECTED: words.of_the_day,
        Delivery.CARRY_OVER: wording.marked,
    }[block.delivery]
    cue = words.cues[block.delivery]
    if talks and block.delivery is Delivery.CARRY_OVER:
        cue = f"{cue} {wording.ladder.units[Unit.CONVERSATION].title}: {words.own_words}"
    return time, f"{text.name}: {version}", cue


def _describe_row(row: PlanRow, sheet: PlanSheet, wording: Wording) -> tuple[Spans, ...]:
    words = wording.plan
    version = {
        VersionKind.FULL: words.full,
        VersionKind.PARTIAL: words.partial.format(rung=row.rung, rungs=sheet.rungs)
        if sheet.rungs > 1
        else wording.partial,
        VersionKind.MARKED: words.marked,
    }[row.kind]
    date = short_date(row.date, words) if row.date else ""
    unit = wording.ladder.units[row.unit].one
    return tuple(map(prose, (str(row.number), date, unit, version, _letter(row.warm_up))))


def short_date(date: datetime.date, words: PlanWording) -> str:
    """Weekday, day and month.

    >>> short_date(datetime.date(2030, 1, 31), choose_wording(False).plan)
    'Thu 31 Jan'
    """
    return f"{words.days[date.weekday()]} {date.day} {words.months[date.month - 1][:3]}"


def _long_date(date: datetime.date, words: PlanWording) -> str:
    return f"{date.day} {words.months[date.month - 1]} {date.year}"


def _count(number: int, texts: tuple[str, str]) -> str:
    one, several = texts
    return (one if number == 1 else several).format(count=number)


def _letter(number: int) -> str:
    return chr(ord("A") + number)
