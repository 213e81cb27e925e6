"""`drillgen plan`: pages, log, calendar."""

from __future__ import annotations

import csv
import datetime
import io
import json
from pathlib import Path

import icalendar
import pytest
from cli_helper import alt_texts, check_pdf, fails, pdf_text

from drillgen.cli import run
from drillgen.core.options import Format
from drillgen.practice.log import parse_log

pytestmark = pytest.mark.usefixtures("here")


def fill_log(path: Path, rows: int, *, answers: tuple[str, ...]) -> None:
    """Fill in the first rows of a log as a client would."""
    table = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    for row in table[1 : rows + 1]:
        row[6:11] = answers
    out = io.StringIO(newline="")
    csv.writer(out).writerows(table)
    path.write_text(out.getvalue(), encoding="utf-8", newline="")


def test_a_plan_in_every_format(here: Path) -> None:
    formats = [part for kind in Format for part in ("-f", kind)]
    assert run(["plan", "--weeks", "2", "--days", "3", "--start", "2026-12-01", *formats]) == 0
    check_pdf(here / "plan.pdf", "Practice plan")
    data = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    sessions = data["plan"]["sessions"]
    assert len(sessions) == 6
    assert sessions[0]["date"] == "2026-12-01"
    assert sum(block["seconds"] for block in data["plan"]["blocks"]) == 15 * 60
    for text in (
        pdf_text(here / "plan.pdf"),
        (here / "plan.md").read_text(encoding="utf-8"),
        (here / "plan.txt").read_text(encoding="utf-8"),
    ):
        flat = " ".join(text.split())
        for part in ("2 weeks, 3 sessions a week, 15 minutes each", "First day: 1 December 2026",
                     "Tue 1 Dec", "Warm-up", "When to go on, back, or stop", "Week 2",
                     "two sessions in a row", "Rest"):  # fmt: skip
            assert part in flat, part


def test_the_usual_plan_is_short(here: Path) -> None:
    """A teacher prints three to six pages, in large print twelve at most."""
    assert run(["plan"]) == 0
    assert 2 <= len(check_pdf(here / "plan.pdf", "Practice plan").pages) <= 6
    assert run(["plan", "--large", "--force"]) == 0
    assert len(check_pdf(here / "plan.pdf", "Practice plan").pages) <= 12


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_no_row_runs_over_the_edge(here: Path, size: str) -> None:
    arguments = ["plan", "--rungs", "12", "--start", "2026-12-01", "--from", "passage"]
    assert run([*arguments, "--size", size]) == 0
    reader = check_pdf(here / "plan.pdf", "Practice plan")
    for page in reader.pages:
        edge = float(page.mediabox.width)

        def visit(
            part: str, cm: list[float], tm: list[float], *_: object, edge: float = edge
        ) -> None:
            assert not part.strip() or cm[0] * tm[4] + cm[4] < edge - 40

        page.extract_text(visitor_text=visit)


def test_log_and_calendar(here: Path) -> None:
    arguments = ["plan", "--weeks", "1", "--start", "2026-12-01", "--log-sheet", "log.csv"]
    assert run([*arguments, "--ical", "plan.ics", "--time", "18:30"]) == 0
    text = (here / "log.csv").read_text(encoding="utf-8")
    assert parse_log(text) == ()
    assert len(text.splitlines()) == 6
    raw = (here / "plan.ics").read_bytes()
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))  # RFC 5545, 3.1
    events = icalendar.Calendar.from_ical(raw).walk("VEVENT")
    assert len(events) == 5
    assert events[0].decoded("dtstart") == datetime.datetime(2026, 12, 1, 18, 30)
    assert {str(event["summary"]) for event in events} == {"Reading practice"}


def test_an_empty_log_to_print(here: Path) -> None:
    for ending in ("pdf", "html", "md", "txt"):
        arguments = ["plan", "--weeks", "1", "--log-sheet", f"log.{ending}", "-o", "plan.txt"]
        assert run([*arguments, "--force"]) == 0
    assert len(check_pdf(here / "log.pdf", "Practice log").pages) == 1
    for ending in ("html", "md", "txt"):
        text = (here / f"log.{ending}").read_text(encoding="utf-8")
        assert "Week 1" in text
        assert "Warm-ups" not in text
    assert (here / "log.html").read_text(encoding="utf-8").count('type="checkbox"') == 5 * 4


def test_a_filled_log_shows_in_the_next_plan(here: Path) -> None:
    assert run(["plan", "--log-sheet", "log.csv"]) == 0
    fill_log(here / "log.csv", 3, answers=("yes", "yes", "yes", "no", "none"))
    arguments = ["plan", "--log", "log.csv", "-f", "pdf", "-f", "txt", "-f", "md", "-f", "json"]
    assert run([*arguments, "-o", "next"]) == 0
    reader = check_pdf(here / "next.pdf", "Practice plan")
    (chart,) = [alt for alt in alt_texts(reader) if "chart" in alt]
    assert "session 1, 4; session 2, 4; session 3, 4" in chart
    for text in (pdf_text(here / "next.pdf"), (here / "next.txt").read_text(encoding="utf-8")):
        assert "So far" in text
        assert "3 sessions, 45 minutes in all" in text
        assert "stay at this stage" in text
    assert "   1  ****." in (here / "next.txt").read_text(encoding="utf-8")
    progress = json.loads((here / "next.json").read_text(encoding="utf-8"))["plan"]["progress"]
    assert progress["rates"] == [1.0, 1.0, 1.0, 0.0, 1.0]


def test_one_session_and_many_draw_a_chart(here: Path) -> None:
    assert run(["plan", "--weeks", "52", "--days", "7", "--log-sheet", "log.csv"]) == 0
    empty = (here / "log.csv").read_bytes()
    for rows in (1, 364):
        (here / "log.csv").write_bytes(empty)
        fill_log(here / "log.csv", rows, answers=("no", "yes", "no", "yes", "some"))
        assert run(["plan", "--weeks", "1", "--log", "log.csv", "-o", "next.pdf"]) == 0
        assert f"{rows} session" in pdf_text(here / "next.pdf")


def test_a_filled_log_is_never_written_over(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", "--log-sheet", "log.csv", "-f", "txt"]) == 0
    assert run(["plan", "--log-sheet", "log.csv", "-f", "txt"]) == 0  # still empty
    fill_log(here / "log.csv", 1, answers=("yes", "yes", "yes", "no", "none"))
    before = (here / "log.csv").read_bytes()
    capsys.readouterr()
    assert "filled log" in fails(capsys, "plan", "--log-sheet", "log.csv", "-f", "txt")
    (here / "other.csv").write_text("dear diary\n", encoding="utf-8")
    assert "no empty log" in fails(capsys, "plan", "--log-sheet", "other.csv")
    assert (here / "log.csv").read_bytes() == before


def test_same_plan_same_bytes(here: Path) -> None:
    for name in ("a", "b"):
        arguments = ["plan", "--start", "2026-12-01", "--ical", f"{name}.ics", "-o", f"{name}.pdf"]
        assert run(arguments) == 0
    assert (here / "a.pdf").read_bytes() == (here / "b.pdf").read_bytes()
    assert (here / "a.ics").read_bytes() == (here / "b.ics").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["--weeks", "0"], "weeks must be 1 to 52"),
        (["--days", "8"], "days must be 1 to 7"),
        (["--minutes", "4"], "minutes must be 5 to 60"),
        (["--rungs", "13"], "rungs must be 0 to 12"),
        (["--start", "tomorrow"], "--start: 'tomorrow' is no date; write it as 2030-01-31"),
        (["--ical", "x.ics"], "add --start"),
        (["--ical", "x.ics", "--start", "2026-12-01", "--time", "noon"], "--time: 'noon'"),
        (["--time", "18:30"], "add --ical"),
        (["--ical", "x.ics", "--start", "2026-12-01", "--event-title", " "], "title"),
        (["--ical", __file__ + "/x.ics", "--start", "2026-12-01"], "is no folder"),
        (["--from", "passage", "--to", "word"], "passage comes after word"),
        (["--log", "none.csv"], "none.csv: no such file"),
        (["--log", "bad.csv"], "bad.csv, line 1"),
        (["-f", "jsonl"], "--format 'jsonl'"),
    ],
)
def test_bad_input_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: list[str], part: str, here: Path
) -> None:
    (here / "bad.csv").write_text("a,b\n", encoding="utf-8")
    assert part in fails(capsys, "plan", *arguments)
    assert [p.name for p in here.iterdir()] == ["bad.csv"]
