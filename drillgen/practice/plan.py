"""A practice plan: sessions that climb the hierarchy and fade the swap.

What a session holds, and when to go on or back, is common practice in voice
teaching; no trial stands behind the numbers. They stand in one place, at the
top, for a teacher to argue with. Nothing here says what the exercise is for,
so a plan can lie on a kitchen table.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NamedTuple

from drillgen.core.errors import OptionError
from drillgen.core.options import MAX_RUNGS, SHORT_UNITS, Unit, list_units
from drillgen.core.tables import write_rows
from drillgen.core.values import Delivery, VersionKind
from drillgen.core.wording import choose_wording
from drillgen.practice.log import (
    CRITERIA,
    LogEntry,
    Progress,
    Tension,
    name_columns,
    summarize_log,
)

MAX_WEEKS: Final = 52
WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MINUTES: Final = (5, 60)
GRAIN: Final = 30
"""Seconds; blocks last a whole number of these."""

STRETCH: Final = 300
"""Longest voiced block without a rest, in seconds (common practice)."""

REST: Final = 30
"""Length of a rest, in seconds (common practice)."""

STEADY: Final = 2
"""Sessions in a row at one stage that must go well before the next."""


class Activity(StrEnum):
    """What a block of a session is."""

    WARM_UP = "warm-up"
    READ = "read"
    REST = "rest"
    CLOSE = "close"


class Rung(NamedTuple):
    """A version, named as in `drillgen.core.values.Version`."""

    kind: VersionKind
    number: int = 0
    """From 1 at the fewest swapped vowels; 0 for full and marked."""


FULL: Final = Rung(VersionKind.FULL)
MARKED: Final = Rung(VersionKind.MARKED)


class Stage(NamedTuple):
    """A place on the way: what is read, and how much of it is swapped."""

    unit: Unit
    rung: Rung


class Block(NamedTuple):
    """A stretch of a session."""

    activity: Activity
    seconds: int
    delivery: Delivery | None = None
    """None where nothing is read."""

    rung: Rung | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """One sitting."""

    number: int
    """From 1."""

    week: int
    """From 1."""

    date: datetime.date | None
    stage: Stage
    blocks: tuple[Block, ...]

    @property
    def seconds(self) -> int:
        """Length, rests included."""
        return sum(block.seconds for block in self.blocks)


class Move(StrEnum):
    """Where to go after a session."""

    BEGIN = "begin"
    STEP_UP = "step up"
    STAY = "stay"
    STEP_BACK = "step back"
    ASK = "ask first"


class Advice(NamedTuple):
    """A move and its reason in one sentence."""

    move: Move
    reason: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Sessions over some weeks."""

    weeks: int
    days: int
    """Sessions a week."""

    minutes: int
    """Length of a session."""

    rungs: int
    """Partial versions between full swap and marked original."""

    start: datetime.date | None
    sessions: tuple[Session, ...]
    advice: Advice
    """Why the plan starts where it does."""

    progress: Progress | None
    """The log so far, if one was given."""

    finishes: bool
    """Whether the last stage of the way falls within the plan."""


def list_stages(
    rungs: int, *, first: Unit = Unit.SYLLABLE, last: Unit = Unit.CONVERSATION
) -> tuple[Stage, ...]:
    """The whole way: within each unit from full swap to marked original.

    A syllable has one vowel, and most practice words have one or two, so only
    phrases and longer units pass through the partial rungs. Raises OptionError
    if `first` comes after `last`.
    """
    _check_range("rungs", rungs, 0, MAX_RUNGS)
    partial = tuple(Rung(VersionKind.PARTIAL, n) for n in range(rungs, 0, -1))
    return tuple(
        Stage(unit, rung)
        for unit in list_units(first, last)
        for rung in (FULL, *(() if unit in SHORT_UNITS else partial), MARKED)
    )


def advise_step(log: Sequence[LogEntry]) -> Advice:
    """Judge the latest sessions by the criteria of the trade (common practice).

    The rows of the log stand in the order of practice. Strong tension twice:
    ask first. Strong tension once, some tension twice, or fewer than three
    criteria met: step back. Two sessions at the same stage that meet all
    five: step up. Otherwise stay.
    """
    said = choose_wording(False).plan.advice
    if not log:
        return Advice(Move.BEGIN, said["begin"])
    last = log[-1]
    recent = log[-STEADY:]
    if len(recent) == STEADY and all(e.tension is Tension.STRONG for e in recent):
        return Advice(Move.ASK, said["ask"])
    if last.tension is Tension.STRONG:
        return Advice(Move.STEP_BACK, said["strong"])
    if len(recent) == STEADY and all(e.tension is not Tension.NONE for e in recent):
        return Advice(Move.STEP_BACK, said["tense"])
    if last.met < 3:
        return Advice(Move.STEP_BACK, said["few"].format(met=last.met, criteria=CRITERIA))
    stage = (last.unit, last.kind, last.rung)
    steady = tuple(
        itertools.takewhile(
            lambda e: (e.unit, e.kind, e.rung) == stage and e.met == CRITERIA, reversed(log)
        )
    )
    if len(steady) >= STEADY:
        return Advice(Move.STEP_UP, said["up"].format(criteria=CRITERIA))
    return Advice(Move.STAY, said["stay"].format(met=last.met, criteria=CRITERIA))


def find_start(stages: Sequence[Stage], log: Sequence[LogEntry]) -> tuple[int, Advice]:
    """Index of the stage to begin at, and why.

    A stage of the log that the way doesn't have (another number of rungs)
    counts as the nearest share of swapped vowels within its unit; a unit
    before or after the way counts as its first or last stage.
    """
    advice = advise_step(log)
    if not log:
        return 0, advice
    here = _locate(stages, log[-1])
    shift = {Move.STEP_UP: 1, Move.STEP_BACK: -1, Move.ASK: -1}.get(advice.move, 0)
    return min(max(here + shift, 0), len(stages) - 1), advice


def _locate(stages: Sequence[Stage], entry: LogEntry) -> int:
    exact = Stage(entry.unit, Rung(entry.kind, entry.rung))
    if exact in stages:
        return stages.index(exact)
    within = [i for i, stage in enumerate(stages) if stage.unit is entry.unit]
    if not within:
        before = entry.unit in list_units(Unit.SYLLABLE, stages[0].unit)
        return 0 if before else len(stages) - 1
    # The log's own number of rungs isn't known: the rung is counted from the
    # marked end, where both ways agree, and never past the full swap.
    return within[max(0, len(within) - 1 - entry.rung)]


def make_plan(
    *,
    weeks: int = 6,
    days: int = 5,
    minutes: int = 15,
    start: datetime.date | None = None,
    rungs: int = 1,
    first: Unit = Unit.SYLLABLE,
    last: Unit = Unit.CONVERSATION,
    log: Sequence[LogEntry] = (),
    weekdays: Sequence[int] = (),
    skip: Collection[datetime.date] = (),
    pace: int | None = None,
) -> Plan:
    """Lay out `weeks` times `days` sessions of `minutes` minutes.

    The stages from `first` to `last` are spread evenly over the sessions; a
    session is never more than one stage after the one before, so a plan that
    is short for its way ends early instead of hurrying (`Plan.finishes`).
    With a log the plan begins where the log says; after Move.ASK it stays on
    the stage before until a clinician has been asked. Dates follow from
    `start`, rest days spread over the week; or the sessions are on `weekdays` (0 is
    Monday), which then count the days. What falls on a date of `skip` drops out. With
    `pace` there are so many sessions at each stage, and after a log their numbers go on
    from its last.

    Raises OptionError for weeks outside 1 to 52, days outside 1 to 7, minutes
    outside 5 to 60, rungs outside 0 to 12, `first` after `last`, weekdays or dates to
    skip without `start`, or if no session is left.
    """
    if weekdays:
        days = len(set(weekdays))
    _check_range("weeks", weeks, 1, MAX_WEEKS)
    _check_range("days", days, 1, 7)
    _check_range("minutes", minutes, *MINUTES)
    stages = list_stages(rungs, first=first, last=last)
    begin, advice = find_start(stages, log)
    if start is not None and start > datetime.date.max - datetime.timedelta(weeks=weeks):
        raise OptionError(f"start {start} is too late", "choose a date that the calendar reaches")
    way = stages[begin:]
    dates = list(_iter_dates(weeks, days, start, weekdays, skip))
    total = len(dates)
    number = log[-1].session if log and pace else 0
    sessions = []
    for i, (week, date) in enumerate(dates):
        step = i if len(way) > total else i * len(way) // total
        if pace:
            step = 0 if advice.move is Move.ASK else min(i // pace, len(way) - 1)
        blocks = tuple(lay_out_session(way[step], minutes))
        sessions.append(Session(number + i + 1, week, date, way[step], blocks))
    return Plan(
        weeks=weeks,
        days=days,
        minutes=minutes,
        rungs=rungs,
        start=start,
        sessions=tuple(sessions),
        advice=advice,
        progress=summarize_log(log) if log else None,
        finishes=sessions[-1].stage == stages[-1],
    )


def _iter_dates(
    weeks: int,
    days: int,
    start: datetime.date | None,
    weekdays: Sequence[int],
    skip: Collection[datetime.date],
) -> Iterator[tuple[int, datetime.date | None]]:
    """Week, from 1, and date of each session."""
    if start is None and (weekdays or skip):
        raise OptionError("days of the week need a first day", "give it, such as 2030-01-31")
    wanted = {day * 7 // days for day in range(days)}
    left = False
    for offset in range(weeks * 7):
        date = start + datetime.timedelta(days=offset) if start else None
        on = date.weekday() in weekdays if weekdays and date else offset % 7 in wanted
        if on and (date is None or date not in skip):
            left = True
            yield offset // 7 + 1, date
    if not left:
        raise OptionError("no session is left", "skip fewer days")


def parse_day(text: str) -> datetime.date:
    """A day as ISO 8601 has it. OptionError for anything else."""
    try:
        return datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise OptionError(f"{text[:20]!r} is no date", "write it as 2030-01-31") from None


def parse_time(text: str) -> datetime.time:
    """A time of day. OptionError for anything else."""
    try:
        return datetime.datetime.strptime(text.strip(), "%H:%M").time()
    except ValueError:
        raise OptionError(f"{text[:20]!r} is no time of day", "write it as 18:30") from None


def parse_weekdays(text: str) -> tuple[int, ...]:
    """Days of the week, by names of which three letters are enough; 0 is Monday.

    >>> parse_weekdays("Mon, thu,friday")
    (0, 3, 4)
    """
    names = [name.strip().lower() for name in text.split(",") if name.strip()]
    for name in names:
        if name[:3] not in WEEKDAYS:
            mend = f"write them like: {','.join(WEEKDAYS[:3])}"
            raise OptionError(f"{name!r} is no day of the week", mend)
    return tuple(sorted({WEEKDAYS.index(name[:3]) for name in names}))


def lay_out_session(stage: Stage, minutes: int) -> Iterator[Block]:
    """The blocks of one session; together they last exactly `minutes`.

    Warm-up 3 parts, chant on the full swap 2, inflected at the stage's rung 4,
    carry-over on the marked original 4, close 1 (common practice), with a rest
    between the deliveries and after every five minutes of voice.
    """
    reads = (
        (Delivery.CHANT, FULL, 2),
        (Delivery.INFLECTED, stage.rung, 4),
        (Delivery.CARRY_OVER, MARKED, 4),
    )
    parts = 14
    total = minutes * 60
    # Rests only make the stretches shorter, so the first estimate is enough.
    pieces = [-(-total * weight // (parts * STRETCH)) for _, _, weight in reads]
    rests = sum(pieces) - 1
    units = (total - rests * REST) // GRAIN
    shares = _share_out(units, (3, *(weight for _, _, weight in reads), 1))
    yield Block(Activity.WARM_UP, shares[0] * GRAIN)
    left = rests
    for (delivery, rung, _), count, share in zip(reads, pieces, shares[1:-1], strict=True):
        for size in _share_out(share, (1,) * count):
            yield Block(Activity.READ, size * GRAIN, delivery, rung)
            if left:
                left -= 1
                yield Block(Activity.REST, REST)
    yield Block(Activity.CLOSE, shares[-1] * GRAIN)


def _share_out(units: int, weights: Sequence[int]) -> list[int]:
    """Whole units by weight, one at least each, by largest remainder."""
    spare = units - len(weights)
    total = sum(weights)
    shares = [1 + spare * weight // total for weight in weights]
    order = sorted(range(len(weights)), key=lambda i: (-(spare * weights[i] % total), i))
    for i in order[: units - sum(shares)]:
        shares[i] += 1
    return shares


def format_log_sheet(plan: Plan, *, discreet: bool = False) -> str:
    """A CSV log for the plan, dates and stages filled in, answers empty.

    `parse_log` reads it, filled or not.
    """
    rows: list[Iterable[object]] = [name_columns(discreet=discreet)]
    for session in plan.sessions:
        unit, rung = session.stage
        known = (session.date.isoformat() if session.date else "", session.number, unit, rung.kind)
        rows.append((*known, rung.number or "", plan.minutes, *[""] * 6))
    return write_rows(rows)


def _check_range(name: str, value: int, low: int, high: int) -> None:
    if not low <= value <= high:
        raise OptionError(f"{name} must be {low} to {high}, not {value}")
