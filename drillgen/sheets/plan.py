"""A practice plan: what a session is, when to move, the sessions with their log."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

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
    prose_rows,
)
from drillgen.core.options import Unit
from drillgen.core.printable import clean
from drillgen.core.values import Delivery, VersionKind
from drillgen.core.wording import PlanWording, Wording, choose_wording
from drillgen.practice.log import Progress
from drillgen.practice.plan import Activity, Plan, Rung, Session
from drillgen.practice.plan import Block as Stretch
from drillgen.sheets.parts import BODY, care_section, make_document


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """All that a printed plan shows."""

    plan: Plan
    """All its sessions have the same stretches of time."""

    title: str = ""
    discreet: bool = False


def plan_values(sheet: PlanSheet) -> dict[str, object]:
    """What the JSON file of a plan holds (docs/plan.md)."""
    plan = sheet.plan
    progress = plan.progress
    names = ("weeks", "days", "minutes", "rungs", "start")
    return {
        **{name: getattr(plan, name) for name in names},
        "reason": plan.advice.reason,
        "finishes": plan.finishes,
        "blocks": [
            {
                "seconds": block.seconds,
                "delivery": block.delivery,
                "activity": "" if block.activity is Activity.READ else block.activity,
            }
            for block in plan.sessions[0].blocks
        ],
        "sessions": [
            {
                "number": session.number,
                "week": session.week,
                "date": session.date,
                "unit": session.stage.unit,
                "kind": session.stage.rung.kind,
                "rung": session.stage.rung.number,
                "warm_up": _warm_up(session, sheet),
            }
            for session in plan.sessions
        ],
        "progress": progress
        and {
            "minutes": progress.minutes,
            "points": [point._asdict() for point in progress.points],
            "rates": progress.rates,
        },
        "title": sheet.title,
        "discreet": sheet.discreet,
    }


def _warm_up(session: Session, sheet: PlanSheet) -> int:
    """Index in the list of warm-ups: they take turns."""
    return (session.number - 1) % len(choose_wording(sheet.discreet).plan.warm_up_texts)


# What it says


def lay_out_plan(sheet: PlanSheet) -> Document:
    """The plan as a reader sees it."""
    wording = choose_wording(sheet.discreet)
    words = wording.plan
    plan = sheet.plan
    facts = words.facts.format(
        weeks=count_of(plan.weeks, words.counts["week"]),
        days=count_of(plan.days, words.counts["session"]),
        minutes=plan.minutes,
    )
    if plan.start:
        facts = f"{facts} {words.begins.format(date=long_date(plan.start, words))}"
    notes = [words.use, *([] if plan.finishes else [words.unfinished])]
    progress = [progress_section(plan.progress, words)] if plan.progress else []
    blocks: list[Block] = [
        Paragraph(prose(facts)),
        Paragraph(prose(plan.advice.reason, label=f"{words.reason}:")),
        *(Paragraph(prose(note)) for note in notes),
        *progress,
        *session_sections(plan, wording),
        _weeks_section(sheet, wording),
        care_section(wording, beside=False),
    ]
    return make_document(clean(sheet.title) or words.title, wording, blocks)


def lay_out_log(sheet: PlanSheet) -> Document:
    """The sessions of a plan alone, to fill in with a pen."""
    wording = choose_wording(sheet.discreet)
    blocks = (_weeks_section(sheet, wording),)
    return make_document(clean(sheet.title) or wording.log, wording, blocks)


def session_sections(plan: Plan, wording: Wording) -> Iterator[Section]:
    """What a session is, the warm-ups, when to go on or back."""
    words = wording.plan
    yield _session_section(plan, wording)
    warm_ups = [
        prose(text, label=f"{_letter(number)}.") for number, text in enumerate(words.warm_up_texts)
    ]
    yield Section(words.warm_ups, (Items(tuple(warm_ups), ListKind.LABELS),))
    moves = map(prose, (words.step_up, words.step_back, words.stop, words.slow))
    yield Section(words.move, (Items(tuple(moves)),), beside=True)


def _session_section(plan: Plan, wording: Wording) -> Section:
    words = wording.plan
    talks = any(session.stage.unit is Unit.CONVERSATION for session in plan.sessions)
    time, what, how = words.session_columns
    rows = (_describe_block(block, wording, talks) for block in plan.sessions[0].blocks)
    table = Table((Column(time), Column(what, names=True), Column(how, 1)), prose_rows(rows))
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
            (Table(columns, tuple(describe_session(row, sheet) for row in rows), answers),),
            3,
            keep=Keep.WHOLE,
            compact=True,
        )
        for week, rows in groupby(sheet.plan.sessions, key=lambda row: row.week)
    )
    return Section(words.sessions, weeks, note=words.fill, rank=BODY)


def progress_section(progress: Progress, words: PlanWording) -> Section:
    """Chart and shares of the sessions so far."""
    said = words.progress_note.format(
        sessions=count_of(len(progress.points), words.counts["session"]),
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
    rates = (f"{rate:.0%}" for rate in progress.rates)
    rows = prose_rows(zip(words.criteria, rates, strict=True))
    table = Table((Column(thing, 1), Column(share)), rows, beside=True)
    return Section(words.progress, (Paragraph(prose(said)), chart, table))


def _describe_block(block: Stretch, wording: Wording, talks: bool) -> tuple[str, str, str]:
    words = wording.plan
    minutes, seconds = divmod(block.seconds, 60)
    time = f"{minutes}:{seconds:02d}"
    if block.delivery is None:
        name, cue = {
            Activity.WARM_UP: (words.warm_up, words.warm_up_cue),
            Activity.REST: (words.rest, words.rest_cue),
            Activity.CLOSE: (words.close, words.close_cue),
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


def describe_session(session: Session, sheet: PlanSheet) -> tuple[Spans, ...]:
    """Number, date, unit, version and warm-up, as the table of sessions has them."""
    wording = choose_wording(sheet.discreet)
    words = wording.plan
    unit, rung = session.stage
    version = name_version(rung, sheet.plan.rungs, wording)
    date = short_date(session.date, words) if session.date else ""
    letter = _letter(_warm_up(session, sheet))
    cells = str(session.number), date, wording.ladder.units[unit].one, version, letter
    return tuple(map(prose, cells))


def name_version(rung: Rung, rungs: int, wording: Wording) -> str:
    """A version as a table of sessions names it; `rungs` is how many partial ones there are."""
    words = wording.plan
    return {
        VersionKind.FULL: words.full,
        VersionKind.PARTIAL: words.partial.format(rung=rung.number, rungs=rungs)
        if rungs > 1
        else wording.partial,
        VersionKind.MARKED: words.marked,
    }[rung.kind]


def short_date(date: datetime.date, words: PlanWording) -> str:
    """Weekday, day and month.

    >>> short_date(datetime.date(2030, 1, 31), choose_wording(False).plan)
    'Thu 31 Jan'
    """
    return f"{words.days[date.weekday()]} {date.day} {words.months[date.month - 1][:3]}"


def long_date(date: datetime.date, words: PlanWording) -> str:
    """Day, month and year."""
    return f"{date.day} {words.months[date.month - 1]} {date.year}"


def count_of(number: int, texts: tuple[str, str]) -> str:
    """So many of something."""
    one, several = texts
    return (one if number == 1 else several).format(count=number)


def _letter(number: int) -> str:
    return chr(ord("A") + number)
