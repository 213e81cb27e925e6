"""The practice log: a CSV file that the client fills in, read back.

The columns are in `COLUMNS`; docs/practice.md explains each. A log has no
names in it. CSV as in RFC 4180; a semicolon or tab between the cells, as some
spreadsheets write it, is understood too.
"""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import Any, Final, NamedTuple

from drillgen.core.errors import DrillgenError, InputError, raise_all
from drillgen.core.options import MAX_RUNGS, Unit
from drillgen.core.tables import iter_rows, write_rows
from drillgen.core.values import VersionKind

COLUMNS: Final = (
    "date",
    "session",
    "unit",
    "version",
    "rung",
    "minutes",
    "felt",
    "heard",
    "pitch",
    "inflection",
    "tension",
    "note",
)
NEUTRAL: Final = {"pitch": "steady", "inflection": "lively"}
"""What two columns are called in a discreet log, and in the log of a practice page."""

FILLED: Final = ("felt", "heard", "pitch", "inflection", "tension")
"""The columns that the client fills in; a row without any is left out."""

CRITERIA: Final = 5
"""How many things count: felt, heard, pitch, inflection, no tension."""

MAX_SESSION: Final = 10_000
MAX_MINUTES: Final = 600

_YES_NO: Final = {
    **dict.fromkeys(("yes", "y", "x", "✓", "✔", "☑", "1", "true"), True),
    **dict.fromkeys(("no", "n", "", "-", "0", "☐", "false"), False),
}
"""A tick box on paper is ticked or blank, and so are the cells of a log."""


class Tension(IntEnum):
    """Tension in jaw, neck or tongue during a session."""

    NONE = 0
    SOME = 1
    STRONG = 2


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One session as it went."""

    date: datetime.date | None
    session: int
    """Number of the session in its plan, from 1."""

    unit: Unit
    kind: VersionKind
    """The version that was read in the inflected delivery."""

    rung: int
    """Rung of a partial version, 0 otherwise."""

    minutes: float
    felt: bool
    """The difference before and after could be felt."""

    heard: bool
    """The difference before and after could be heard."""

    pitch: bool
    """The pitch was kept."""

    inflection: bool
    """Natural rise and fall were kept."""

    tension: Tension
    note: str = ""

    @property
    def criteria(self) -> tuple[bool, ...]:
        """Which were met: felt, heard, pitch, inflection, no tension."""
        free = self.tension is Tension.NONE
        return self.felt, self.heard, self.pitch, self.inflection, free

    @property
    def met(self) -> int:
        """How many of the five criteria were met."""
        return sum(self.criteria)


class ProgressPoint(NamedTuple):
    """One dot of the chart."""

    session: int
    met: int
    """0 to 5."""

    tense: bool


@dataclass(frozen=True, slots=True)
class Progress:
    """A log in short."""

    sessions: int
    minutes: float
    points: tuple[ProgressPoint, ...]
    """In the order of the log."""

    rates: tuple[float, ...]
    """Share of the sessions that met each criterion, 0 to 1: felt, heard, pitch, inflection,
    no tension."""


class _Order(IntEnum):
    """How a country writes a date in figures; the year stands at the end."""

    DAY_FIRST = 0
    MONTH_FIRST = 1


_FIGURES: Final = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d\d)", re.ASCII)
"""A date as spreadsheets save it where they have been told a country."""


def _read_figures(text: str, order: _Order) -> datetime.date:
    """ValueError where it is no date in this order."""
    found = _FIGURES.fullmatch(text)
    if found is None:
        raise ValueError(text)
    day, month = int(found[1 + 2 * order]), int(found[3 - 2 * order])
    return datetime.date(int(found[4]) + 2000 * (len(found[4]) == 2), month, day)


def _choose_order(texts: Iterable[str]) -> _Order | None:
    """The order that fits all dates in figures of a log; None where that can't be told.

    Points stand behind a day. Where both orders fit, that one holds which has the sessions
    closer together: the other has them a month apart.
    """
    figures = [text for text in texts if _FIGURES.fullmatch(text)]
    if any("." in text for text in figures):
        return _Order.DAY_FIRST
    found: dict[_Order, list[datetime.date]] = {}
    for order in _Order:
        with suppress(ValueError):
            found[order] = [_read_figures(text, order) for text in figures]
    spans = {order: max(days) - min(days) for order, days in found.items() if days}
    best = [order for order in spans if spans[order] == min(spans.values())]
    if len(best) == 2 and found[best[0]] != found[best[1]]:
        return None
    return best[0] if best else None


class _Row(NamedTuple):
    name: str
    line: int
    cells: dict[str, str]

    def fail(self, column: str, mend: str) -> InputError:
        value = self.cells[column]
        return InputError(f"{column} is {value!r}", mend, file=self.name, line=self.line)

    def yes_no(self, column: str) -> bool:
        try:
            return _YES_NO[self.cells[column].lower()]
        except KeyError:
            raise self.fail(column, "write x or yes; no, or leave it blank") from None

    def number(self, column: str, low: int, high: int) -> int:
        text = self.cells[column]
        # isascii: int() would take digits of any script.
        if text.isascii() and text.isdigit() and len(text) < 9 and low <= int(text) <= high:
            return int(text)
        raise self.fail(column, f"write a whole number, {low} to {high}")

    def minutes(self) -> float:
        text = self.cells["minutes"].replace(",", ".").removesuffix("min").rstrip()
        try:
            value = float(text or "0")
        except ValueError:
            value = -1.0
        if not 0 <= value <= MAX_MINUTES:
            raise self.fail("minutes", f"write a number, 0 to {MAX_MINUTES}")
        return value

    def day(self, order: _Order | None) -> datetime.date | None:
        text = self.cells["date"]
        if not text:
            return None
        try:
            if order is not None and _FIGURES.fullmatch(text):
                return _read_figures(text, order)
            return datetime.date.fromisoformat(text)
        except ValueError:
            raise self.fail("date", "write it as 2030-01-31 or leave it empty") from None

    def choice(self, column: str, kind: type[StrEnum]) -> StrEnum:
        try:
            return kind(self.cells[column].lower())
        except ValueError:
            raise self.fail(column, f"write one of: {', '.join(kind)}") from None

    def tension(self) -> Tension:
        text = self.cells["tension"].lower()
        names = [tension.name.lower() for tension in Tension]
        if text in names:
            return Tension(names.index(text))
        if text in ("", "0", "1", "2"):
            return Tension(int(text or 0))
        raise self.fail("tension", "write 0, 1 or 2, or none, some or strong")


def name_columns(*, discreet: bool) -> tuple[str, ...]:
    """The first row of a log."""
    return tuple(NEUTRAL.get(name, name) if discreet else name for name in COLUMNS)


def parse_log(text: str, *, name: str = "log") -> tuple[LogEntry, ...]:
    """Read a filled log, in the order of its rows.

    A cell is filled in as the paper is: a tick (x, yes) or blank, tension 0, 1 or 2. Rows
    whose answers are all empty (not practised yet) are left out. Dates are as in ISO 8601,
    or as a spreadsheet has saved them. Raises InputError with
    `name` and line for missing columns and bad cells, all at once (ManyErrors).
    """
    rows: list[_Row] = []
    entries: list[LogEntry] = []
    errors: list[DrillgenError] = []
    head: list[str] = []
    for line, cells in iter_rows(text, name, strict=True):
        if not head:
            plain = {neutral: name for name, neutral in NEUTRAL.items()}
            head = [plain.get(cell.lower(), cell.lower()) for cell in cells]
            _check_head(head, name, line)
            continue
        if len(cells) > len(head):
            problem = f"{len(cells)} cells, but {len(head)} columns"
            mend = 'put a cell that has a comma between "quotation marks"'
            errors.append(InputError(problem, mend, file=name, line=line))
            continue
        padded = [*cells, *[""] * (len(head) - len(cells))]
        row = _Row(name, line, dict(zip(head, padded, strict=True)))
        if any(row.cells[column] for column in FILLED):
            rows.append(row)
    if not head:
        raise InputError("the log is empty", f"begin with: {','.join(COLUMNS)}", file=name, line=1)
    order = _choose_order(row.cells["date"] for row in rows)
    for row in rows:
        _add_entry(row, order, entries, errors)
    errors.sort(key=lambda error: error.line or 0)
    raise_all(errors)
    return tuple(entries)


def _check_head(head: Sequence[str], name: str, line: int) -> None:
    missing = [column for column in COLUMNS if column not in head]
    twice = [column for column in COLUMNS if head.count(column) > 1]
    if missing or twice:
        problem = f"no column {', '.join(missing)}" if missing else f"two columns {twice[0]}"
        problem = "this is no log" if missing == list(COLUMNS) else problem
        mend = f"give the file that came with the plan; it begins with: {','.join(COLUMNS)}"
        raise InputError(problem, mend, file=name, line=line)


def _add_entry(
    row: _Row, order: _Order | None, entries: list[LogEntry], errors: list[DrillgenError]
) -> None:
    """Read a row; each of its cells that is bad is an error of its own."""
    partial = row.cells["version"].lower() == VersionKind.PARTIAL
    readers: dict[str, Callable[[], Any]] = {
        "date": functools.partial(row.day, order),
        "session": lambda: row.number("session", 1, MAX_SESSION),
        "unit": functools.partial(row.choice, "unit", Unit),
        "kind": functools.partial(row.choice, "version", VersionKind),
        "rung": lambda: row.number("rung", 1, MAX_RUNGS) if partial else 0,
        "minutes": row.minutes,
        **{name: functools.partial(row.yes_no, name) for name in FILLED[:-1]},
        "tension": row.tension,
    }
    cells: dict[str, Any] = {}
    for name, read in readers.items():
        try:
            cells[name] = read()
        except DrillgenError as error:
            errors.append(error)
    if len(cells) == len(readers):
        entries.append(LogEntry(**cells, note=row.cells["note"]))


def format_log(entries: Sequence[LogEntry]) -> str:
    """A log as CSV, which `parse_log` reads."""
    rows: list[Iterable[object]] = [COLUMNS]
    for e in entries:
        known = (e.date.isoformat() if e.date else "", e.session, e.unit, e.kind, e.rung or "")
        ticks = ("x" if tick else "" for tick in e.criteria[:-1])
        note = " ".join(e.note.split())
        rows.append((*known, f"{e.minutes:g}", *ticks, e.tension.value, note))
    return write_rows(rows)


def merge_logs(old: Sequence[LogEntry], new: Sequence[LogEntry]) -> tuple[LogEntry, ...]:
    """Both logs in the order of practice; what both have (date and number) is the new one's."""
    entries = {(e.date, e.session): e for e in (*old, *new)}
    if all(e.date for e in entries.values()):
        return tuple(
            sorted(entries.values(), key=lambda e: (e.date or datetime.date.min, e.session))
        )
    return tuple(entries.values())


def summarize_log(entries: Sequence[LogEntry]) -> Progress:
    """Count sessions, minutes and how often each criterion was met."""
    total = len(entries)
    counts = [sum(met) for met in zip(*(e.criteria for e in entries), strict=True)]
    return Progress(
        sessions=total,
        minutes=sum(e.minutes for e in entries),
        points=tuple(
            ProgressPoint(e.session, e.met, e.tension is not Tension.NONE) for e in entries
        ),
        rates=tuple(count / total for count in counts) or (0.0,) * CRITERIA,
    )
