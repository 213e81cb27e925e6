"""The history of takes: a small CSV of measures that the user asks for; never any sound."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Final, NamedTuple

from drillgen.core.errors import InputError
from drillgen.core.tables import write_rows
from drillgen.core.take import TakeReport


class TakeRow(NamedTuple):
    """A take in one line."""

    date: str
    """As 2030-01-31."""

    delivery: str
    syllables: int
    slips: int
    median: float
    """Hz."""

    near: float
    """Share of the voiced time within 50 cents of the target; -1 without a target."""

    span: float
    """Semitones."""

    f2: float
    gap: float
    """Of the target vowel: F2 in Hz, F3 - F2 in Hz."""


_COLUMNS: Final = TakeRow._fields


def make_row(report: TakeReport, date: str) -> TakeRow:
    """A report in one line; 0 Hz where the target vowel was not heard."""
    mean = next((m for m in report.vowels if m.vowel == report.anchor), None)
    f2, f3 = (mean.f2, mean.f3) if mean else (0.0, 0.0)
    melody = report.melody
    return TakeRow(
        date,
        report.delivery.value,
        report.heard,
        len(report.slips),
        round(melody.median, 1),
        -1.0 if melody.near is None else round(melody.near, 3),
        round(melody.span, 2),
        round(f2),
        round(f3 - f2),
    )


def parse_takes(text: str, name: str = "history") -> tuple[TakeRow, ...]:
    """Read a history. InputError, with the line, for anything else."""
    rows = [row for row in csv.reader(io.StringIO(text)) if row]
    if not rows:
        return ()
    if tuple(rows[0]) != _COLUMNS:
        raise InputError("no history of takes", "name another file", file=name, line=1)
    return tuple(_parse_row(row, name, line) for line, row in enumerate(rows[1:], 2))


def _parse_row(row: list[str], name: str, line: int) -> TakeRow:
    try:
        date, delivery, syllables, slips, *rest = row
        median, near, span, f2, gap = map(float, rest)
        return TakeRow(date, delivery, int(syllables), int(slips), median, near, span, f2, gap)
    except ValueError:
        raise InputError(
            "this row is not one of ours", "mend or remove it", file=name, line=line
        ) from None


def format_takes(rows: Iterable[TakeRow]) -> str:
    """A history as CSV (RFC 4180).

    >>> row = TakeRow("2030-01-31", "chant", 60, 2, 196.0, 0.9, 0.4, 2500, 600)
    >>> parse_takes(format_takes([row])) == (row,)
    True
    """
    return write_rows([_COLUMNS, *rows])
