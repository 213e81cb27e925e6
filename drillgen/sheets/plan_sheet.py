"""A practice plan as PDF, Markdown, plain text or JSON.

`drillgen.sheets.plan` makes the sheet from a plan; this module only shows it.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final, Literal

from drillgen.core.options import PageOptions, Unit
from drillgen.core.values import Delivery, VersionKind, Worksheet
from drillgen.core.wording import PlanWording, Wording, choose_wording
from drillgen.sheets.content import clean
from drillgen.write.markdown import format_rows, load_templates
from drillgen.write.plain import WIDTH, format_grid
from drillgen.write.plain import load_templates as load_text_templates
from drillgen.write.typeset import Json, build_front, finish, typeset

FORMAT: Final = "drillgen-plan"
WARM_UP: Final = "warm-up"
REST: Final = "rest"
CLOSE: Final = "close"

_MONTHS: Final = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""Not from the locale: the same plan gives the same bytes everywhere."""

_DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


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


@dataclass(frozen=True, slots=True)
class PlanEnvelope:
    """What stands at the top of the JSON file."""

    format: Literal["drillgen-plan"]
    version: Literal[1]
    plan: PlanSheet


def render_plan_json(sheet: PlanSheet) -> str:
    """The plan as JSON, dates as in ISO 8601; one final newline."""
    import msgspec

    return msgspec.json.encode(PlanEnvelope(FORMAT, 1, sheet)).decode() + "\n"


def render_plan_markdown(sheet: PlanSheet) -> str:
    """The plan as GitHub-flavoured Markdown."""
    wording = choose_wording(sheet.discreet)
    data = _describe(sheet, wording)
    log_width = len(wording.plan.columns)
    template = load_templates().get_template("plan.md.j2")
    return template.render(
        data,
        words=wording,
        blocks=format_rows(wording.plan.session_columns, data["blocks"]),
        weeks=[
            (name, format_rows(wording.plan.columns, [_fill(row, log_width) for row in rows]))
            for name, rows in data["weeks"]
        ],
        rates=format_rows(wording.plan.rates, data["rates"]),
    )


def render_plan_text(sheet: PlanSheet, width: int = WIDTH) -> str:
    """The plan as plain text."""
    wording = choose_wording(sheet.discreet)
    data = _describe(sheet, wording)
    template = load_text_templates(width).get_template("plan.txt.j2")
    columns = [*wording.plan.columns[:5], wording.plan.columns[-1]]
    return template.render(
        data,
        words=wording,
        blocks=format_grid(wording.plan.session_columns, data["blocks"], width),
        weeks=[
            (name, format_grid(columns, [_fill(row, 6, "." * 20) for row in rows], width))
            for name, rows in data["weeks"]
        ],
        rates=format_grid(wording.plan.rates, data["rates"], width),
        bars=_draw_bars(sheet.progress) if sheet.progress else "",
    )


def render_plan_pdf(sheet: PlanSheet, page: PageOptions) -> bytes:
    """The plan as a PDF/UA-1 file. DrillgenError where the typesetter fails."""
    wording = choose_wording(sheet.discreet)
    head = Worksheet((), sheet.title, None, discreet=sheet.discreet, log_rows=0)
    data = _describe(sheet, wording)
    words = wording.plan
    progress: Json | None = None
    if sheet.progress is not None:
        progress = {
            "title": words.progress,
            "note": data["progress_note"],
            "points": [(p.session, p.met, p.tense) for p in sheet.progress.points],
            "alt": data["chart"],
            "across": words.chart_across,
            "up": words.chart_up,
            "ring": words.chart_ring,
            "columns": words.rates,
            "rates": data["rates"],
        }
    front = build_front(head, (), page, title=data["title"])
    body: Json = {
        **front,
        "facts": data["facts"],
        "reason": (words.reason, sheet.reason),
        "notes": data["notes"],
        "session": {
            "title": words.session,
            "note": words.session_note,
            "columns": words.session_columns,
            "rows": data["blocks"],
        },
        "warm": {"title": words.warm_ups, "rows": data["warm_ups"]},
        "move": {"title": words.move, "items": data["moves"]},
        "plan": {
            "title": words.sessions,
            "note": words.fill,
            "columns": words.columns,
            "tension": words.tension,
            "weeks": data["weeks"],
        },
        "progress": progress,
    }
    return typeset(finish(body, sheet.discreet), "plan")


# What it says


def _describe(sheet: PlanSheet, wording: Wording) -> dict[str, Any]:
    """The sentences and tables that all formats share."""
    words = wording.plan
    facts = [
        words.facts.format(
            weeks=_count(sheet.weeks, "week"),
            days=_count(sheet.days, "session"),
            minutes=sheet.minutes,
        )
    ]
    if sheet.start:
        facts.append(words.begins.format(date=_long_date(sheet.start)))
    progress = sheet.progress
    talks = any(row.unit is Unit.CONVERSATION for row in sheet.sessions)
    return {
        "title": clean(sheet.title) or words.title,
        "facts": " ".join(facts),
        "reason": sheet.reason,
        "notes": [words.use, *([] if sheet.finishes else [words.unfinished])],
        "blocks": [_describe_block(block, wording, talks) for block in sheet.blocks],
        "warm_ups": [(chr(ord("A") + i), text) for i, text in enumerate(words.warm_up_texts)],
        "moves": [words.step_up, words.step_back, words.stop, words.slow],
        "weeks": [
            (words.week.format(number=week), [_describe_row(row, sheet, wording) for row in rows])
            for week, rows in groupby(sheet.sessions, key=lambda row: row.week)
        ],
        "progress_note": words.progress_note.format(
            sessions=_count(len(progress.points), "session"), minutes=f"{progress.minutes:g}"
        )
        if progress
        else "",
        "chart": describe_chart(progress, words) if progress else "",
        "rates": [
            (name, f"{rate:.0%}")
            for name, rate in zip(words.criteria, progress.rates, strict=True)
        ]
        if progress
        else [],
    }


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
    cue = dict(words.cues)[block.delivery]
    if talks and block.delivery is Delivery.CARRY_OVER:
        title = next(title for unit, title, _ in wording.ladder.units if unit is Unit.CONVERSATION)
        cue = f"{cue} {title}: {words.own_words}"
    return time, f"{text.name}: {version}", cue


def _describe_row(row: PlanRow, sheet: PlanSheet, wording: Wording) -> list[str]:
    words = wording.plan
    version = {
        VersionKind.FULL: words.full,
        VersionKind.PARTIAL: words.partial.format(rung=row.rung, rungs=sheet.rungs)
        if sheet.rungs > 1
        else wording.partial,
        VersionKind.MARKED: words.marked,
    }[row.kind]
    unit = row.unit.value.capitalize()
    return [
        str(row.number),
        short_date(row.date) if row.date else "",
        unit,
        version,
        chr(ord("A") + row.warm_up),
    ]


def describe_chart(progress: PlanProgress, words: PlanWording) -> str:
    """The chart in words, for who can't see it."""
    points = "; ".join(
        words.chart_point.format(session=point.session, met=point.met) for point in progress.points
    )
    return words.chart_alt.format(points=points)


def short_date(date: datetime.date) -> str:
    """Weekday, day and month.

    >>> short_date(datetime.date(2030, 1, 31))
    'Thu 31 Jan'
    """
    return f"{_DAYS[date.weekday()]} {date.day} {_MONTHS[date.month - 1][:3]}"


def _long_date(date: datetime.date) -> str:
    return f"{date.day} {_MONTHS[date.month - 1]} {date.year}"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _fill(row: list[str], width: int, last: str = "") -> list[str]:
    cells = [*row, *[""] * (width - len(row))]
    return [*cells[:-1], last]


def _draw_bars(progress: PlanProgress) -> str:
    """A line per session: its number and a mark per thing met.

    >>> print(_draw_bars(PlanProgress(15, (PlanPoint(1, 3, True),), (1, 1, 1, 0, 0))))
       1  ***..  !
    """
    return "\n".join(_iter_bars(progress))


def _iter_bars(progress: PlanProgress) -> Iterator[str]:
    for point in progress.points:
        bar = ("*" * point.met).ljust(5, ".")
        yield f"{point.session:4}  {bar}{'  !' if point.tense else ''}"
