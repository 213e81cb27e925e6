"""The practice log is read as it was written, and says where it is wrong."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import DrillgenError, InputError
from drillgen.core.options import Unit
from drillgen.core.values import VersionKind
from drillgen.practice.log import (
    COLUMNS,
    CRITERIA,
    LogEntry,
    Tension,
    parse_log,
    summarize_log,
)

DATA = Path(__file__).parent / "data"
HEAD = ",".join(COLUMNS)
GOOD = "2030-01-31,4,phrase,partial,2,15,yes,no,Y,n,some,a bit tired"

ENTRIES = st.builds(
    LogEntry,
    date=st.none() | st.dates(),
    session=st.integers(1, 10_000),
    unit=st.sampled_from(Unit),
    kind=st.sampled_from((VersionKind.FULL, VersionKind.MARKED)),
    rung=st.just(0),
    minutes=st.integers(0, 2400).map(lambda n: n / 4),
    felt=st.booleans(),
    heard=st.booleans(),
    pitch=st.booleans(),
    inflection=st.booleans(),
    tension=st.sampled_from(Tension),
    note=st.text(st.characters(exclude_categories=("C", "Z")) | st.sampled_from(' ,;"')).map(
        str.strip
    ),
)


def test_one_row() -> None:
    (entry,) = parse_log(f"{HEAD}\n{GOOD}\n")
    assert entry == LogEntry(
        date=datetime.date(2030, 1, 31),
        session=4,
        unit=Unit.PHRASE,
        kind=VersionKind.PARTIAL,
        rung=2,
        minutes=15,
        felt=True,
        heard=False,
        pitch=True,
        inflection=False,
        tension=Tension.SOME,
        note="a bit tired",
    )
    assert entry.met == 2


def test_as_spreadsheets_write_it() -> None:
    text = f"{HEAD}\n{GOOD}\n"
    plain = parse_log(text)
    assert parse_log("\ufeff" + text.replace("\n", "\r\n")) == plain
    assert parse_log(text.replace(",", ";")) == plain
    assert parse_log(text.replace(",", ";").replace(";15;", ";15,0;")) == plain
    assert parse_log(f"{HEAD}\n,,,,,,,,,,,\n\n{GOOD}\n") == plain
    assert parse_log(text.upper().replace("A BIT TIRED", "a bit tired")) == plain
    # Columns in another order, and one more.
    cells = GOOD.split(",")
    turned = ",".join((*reversed(COLUMNS), "mood")) + "\n" + ",".join((*reversed(cells), "fine"))
    assert parse_log(turned) == plain


@pytest.mark.parametrize(
    ("first", "second", "days"),
    [
        # As LibreOffice and Excel save them in Germany, Britain and the United States (from
        # memory: day.month.year, day/month/year, month/day/year).
        ("30.11.2026", "01.12.2026", ("2026-11-30", "2026-12-01")),
        ("30/11/2026", "01/12/2026", ("2026-11-30", "2026-12-01")),
        ("11/30/2026", "12/1/26", ("2026-11-30", "2026-12-01")),
        # Both orders are dates: sessions are days apart, not months.
        ("01/12/2026", "03/12/2026", ("2026-12-01", "2026-12-03")),
        ("12/1/2026", "12/3/2026", ("2026-12-01", "2026-12-03")),
        ("5/5/2026", "", ("2026-05-05", None)),
        ("2026-11-30", "12/1/2026", None),
        ("1/12/2026", "", None),
        ("31/12/2026", "12/31/2026", None),
        ("31.2.2026", "", None),
    ],
)
def test_dates_in_figures(first: str, second: str, days: tuple[str | None, ...] | None) -> None:
    text = "\n".join([HEAD, *(f"{day},1,phrase,full,,15 min,x,,,,," for day in (first, second))])
    if days is None:
        with pytest.raises(DrillgenError, match=r"date is .* write it as 2030-01-31"):
            parse_log(text)
    else:
        found = [entry.date for entry in parse_log(text)]
        assert [day and day.isoformat() for day in found] == list(days)


def test_rows_without_answers_are_left_out() -> None:
    assert parse_log(f"{HEAD}\n2030-01-31,4,phrase,partial,2,15,,,,,,\n") == ()
    assert parse_log(f"{HEAD}\n2030-01-31,4,phrase,partial,2,15\n") == ()


def bad_rows() -> list[list[str]]:
    lines = (DATA / "bad_logs.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and line[0] != "#"]
    assert rows
    return rows


@pytest.mark.parametrize(("label", "column", "cell", "message"), bad_rows())
def test_bad_cells(label: str, column: str, cell: str, message: str) -> None:
    cells = GOOD.split(",")
    cells[COLUMNS.index(column)] = cell
    with pytest.raises(InputError) as caught:
        parse_log(f"{HEAD}\n{GOOD}\n{','.join(cells)}\n", name="mine.csv")
    assert str(caught.value) == f"mine.csv, line 3: {message}", label


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 1: the log is empty"),
        ("date,session\n", "line 1: no column unit, version, rung"),
        (f"{HEAD},felt\n", "line 1: two columns felt"),
        (f"{HEAD}\n{GOOD},or so\n", "line 2: 13 cells, but 12 columns"),
        (f'{HEAD}\n"never closed\n', "not CSV"),
    ],
)
def test_bad_files(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_log(text)


def format_log(entries: Iterable[LogEntry]) -> str:
    """The log as CSV; `parse_log` reads it back as it was."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for entry in entries:
        writer.writerow(
            (
                entry.date.isoformat() if entry.date else "",
                entry.session,
                entry.unit,
                entry.kind,
                entry.rung or "",
                f"{entry.minutes:g}",
                *("yes" if x else "no" for x in (entry.felt, entry.heard, entry.pitch)),
                "yes" if entry.inflection else "no",
                entry.tension.name.lower(),
                entry.note,
            )
        )
    return out.getvalue()


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.lists(ENTRIES, max_size=8))
def test_round_trip(entries: list[LogEntry]) -> None:
    assert list(parse_log(format_log(entries))) == entries


def test_rows_end_as_in_rfc_4180() -> None:
    # RFC 4180, section 2: lines end with CRLF; quotes inside a cell are doubled.
    (entry,) = parse_log(f"{HEAD}\n{GOOD}\n")
    import dataclasses

    text = format_log([dataclasses.replace(entry, note='said "oh", twice')])
    assert text.count("\r\n") == text.count("\n") == 2
    assert '"said ""oh"", twice"' in text
    assert next(csv.reader(io.StringIO(text))) == list(COLUMNS)


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.lists(ENTRIES, max_size=30))
def test_summary(entries: list[LogEntry]) -> None:
    progress = summarize_log(entries)
    assert progress.sessions == len(entries) == len(progress.points)
    assert sum(p.met for p in progress.points) == pytest.approx(sum(progress.rates) * len(entries))
    assert all(0 <= p.met <= CRITERIA for p in progress.points)
