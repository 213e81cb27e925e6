"""A teacher's week: clients, their sheets, the log that comes back, the next week."""

from __future__ import annotations

import csv
import re
import zipfile
from html import unescape
from pathlib import Path

import icalendar
import pytest
from cli_helper import check_pdf, fails, pdf_text

from drillgen.cli import run
from drillgen.practice.clients import read_client
from drillgen.practice.log import parse_log

LINES = "We met at the shop at half past {n}. She had two big bags. I said hello.\n"


@pytest.fixture
def desk(here: Path) -> Path:
    """A folder of texts, one of them telling."""
    texts = here / "texts"
    texts.mkdir()
    for number, title in ((1, "The lamp"), (2, "My voice"), (10, "The stairs")):
        (texts / f"{number}.txt").write_text(f"# {title}\n\n{LINES.format(n=number)}", "utf-8")
    return here


def fill(path: Path, *answers: str) -> None:
    """Fill in a log by hand: what stands for each session, comma by comma."""
    rows = list(csv.reader(path.read_text("utf-8").splitlines()))
    for row, answer in zip(rows[1:], answers, strict=False):
        row[6:] = answer.split(",")
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def test_a_teachers_two_weeks(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clients = desk / "own" / "clients"
    settings = ["--pitch", "A3", "--unit", "sentence", "--rungs", "2"]
    assert run(["client", "new", "robin", *settings]) == 0
    week = ["week", "--client", "robin", "--from", "texts", "--weekdays", "mon,wed,thu,fri"]
    first = [*week, "--start", "2030-01-07", "--skip", "2030-01-09", "--time", "18:30", "-o"]
    assert run([*first, "to/robin"]) == 0
    made = desk / "to" / "robin"
    names = {"start-here.pdf", "log.pdf", "log.csv", "sessions.ics"}
    names |= {f"day-0{n}.{kind}" for n in (1, 2, 3) for kind in ("pdf", "html")}
    assert {path.name for path in made.iterdir()} == names

    cover = pdf_text(made / "start-here.pdf")
    assert len(check_pdf(made / "start-here.pdf", "Your sessions").pages) == 1
    for part in ("Mon 7 Jan The lamp Sentence: Full swap A day-01", "Thu 10 Jan My voice",
                 "Fri 11 Jan The stairs Sentence: Partial 2 of 2 C day-03"):  # fmt: skip
        assert part in cover, part
    assert "robin" not in cover.lower()
    assert "A3" in pdf_text(made / "day-01.pdf")
    assert "stairs" in (made / "day-03.html").read_text("utf-8")
    events = icalendar.Calendar.from_ical((made / "sessions.ics").read_bytes()).walk("VEVENT")
    assert [event.decoded("dtstart").day for event in events] == [7, 10, 11]
    assert read_client(clients / "robin.toml").passages == ("1.txt", "2.txt", "10.txt")

    # A word is put right, and the week is made again: with the same texts.
    assert run(["words", "add", "shop", "like: shahp", "--client", "robin"]) == 0
    assert run([*first, "to/robin"]) == 0
    assert "The lamp" in pdf_text(made / "start-here.pdf")
    assert read_client(clients / "robin.toml").passages == ("1.txt", "2.txt", "10.txt")

    # The log comes back; two sessions went well, one was not done.
    fill(made / "log.csv", "x,x,x,x,0,easy", "x,✓,x,x,,", ",,,,,")
    capsys.readouterr()
    assert "did not make log.csv" in fails(capsys, *first, "to/robin")
    (made / "note.txt").write_text("mine", encoding="utf-8")
    assert "note.txt in it is none" in fails(capsys, *first, "to/robin", "--force")
    second = [*week, "--start", "2030-01-14", "--no-pages", "-o", "next.zip"]
    assert run([*second, "--log", "to/robin/log.csv"]) == 0
    with zipfile.ZipFile("next.zip") as archive:
        archive.extractall("next")
        assert {"progress.pdf", "day-03.pdf", "day-06.pdf"} <= set(archive.namelist())
    rows = list(csv.DictReader(Path("next/log.csv").read_text("utf-8").splitlines()))
    assert [(r["session"], r["version"], r["rung"]) for r in rows] == [
        ("3", "partial", "2"), ("4", "partial", "2"), ("5", "partial", "1"), ("6", "partial", "1"),
    ]  # fmt: skip
    assert "go on" in pdf_text(desk / "next" / "start-here.pdf")
    assert len(read_client(clients / "robin.toml").read_log()) == 2

    for extra, file in (([], "progress.pdf"), (["--teacher"], "progress-teacher.pdf")):
        assert run(["progress", "--client", "robin", *extra]) == 0
        text = pdf_text(desk / file)
        assert "2 sessions, 30 minutes in all" in text
        assert ("easy" in text) == bool(extra)


CLIENTS = {
    "robin": ("--pitch A3", "A3"),
    "wren": ("--pitch B3 --accent non-rhotic --discreet", "B3"),
    "linnet": ("--pitch 180 --large", "180 Hz"),
    "finch": ("--pitch none --accent australian", "lamp"),
    "heron": ("--pitch E3 --rungs 2 --size letter --breath 8", "rung 2 of 2"),
}


def test_a_week_of_five_clients(desk: Path) -> None:
    identifiers: list[str] = []
    for alias, (settings, _) in CLIENTS.items():
        assert run(["client", "new", alias, "--unit", "sentence", *settings.split()]) == 0
    assert run(["words", "add", "shop", "like: short", "--client", "finch"]) == 0
    for alias, (_, shown) in CLIENTS.items():
        week = ["week", "--client", alias, "--from", "texts", "--start", "2030-01-07"]
        assert run([*week, "--days", "1", "--no-pages", "-o", f"to/{alias}"]) == 0
        made = desk / "to" / alias
        text = " ".join(pdf_text(path) for path in made.glob("*.pdf"))
        assert shown in text
        # A file that goes to one client names none of them.
        for path in made.iterdir():
            data = path.read_bytes().lower()
            assert not any(other.encode() in data for other in CLIENTS), path
        assert not any(other in text.lower() for other in CLIENTS)
        calendar = icalendar.Calendar.from_ical((made / "sessions.ics").read_bytes())
        identifiers += [str(event["UID"]) for event in calendar.walk("VEVENT")]
        assert read_client(desk / "own" / "clients" / f"{alias}.toml").passages == ("1.txt",)
        assert ("sheep" in text) == (alias != "finch"), alias
    assert len(set(identifiers)) == len(CLIENTS)


def test_a_discreet_week_says_nothing(desk: Path) -> None:
    assert run(["client", "new", "kit", "--discreet", "--unit", "passage"]) == 0
    arguments = ["week", "--client", "kit", "--from", "texts", "--start", "2030-01-07"]
    assert run([*arguments, "--days", "2", "--no-pages", "-o", "kit"]) == 0
    text = " ".join(pdf_text(path) for path in sorted((desk / "kit").glob("*.pdf"))).lower()
    assert "text 2" in text  # instead of its telling title
    for word in ("voice", "pitch", "tongue", "swap", "kit"):
        assert word not in text.split(), word


def test_every_unit_has_material_of_ours(desk: Path) -> None:
    for unit in ("syllable", "phrase", "conversation"):
        arguments = ["week", "--unit", unit, "--start", "2030-01-07", "--days", "1", "-o", unit]
        assert run(arguments) == 0
        assert (desk / unit / "day-01.html").stat().st_size > 10_000
    # Answers stand under their questions, on the page as on the sheet.
    page = unescape((desk / "conversation" / "day-01.html").read_text("utf-8"))
    questions = re.findall(r"<h3>(.+?)</h3>", page)
    sheet = " ".join(pdf_text(desk / "conversation" / "day-01.pdf").split())
    assert len(set(questions)) == 2
    assert all(question in sheet and f"<li>{question}</li>" in page for question in questions)


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("week --from none", "none: can't be read"),
        ("week --from own", "own: can't be read"),
        ("week --from empty", "there are no texts in it"),
        ("week --weekdays mon,someday", "'someday' is no day of the week"),
        ("week --skip tomorrow", "--skip: 'tomorrow' is no date"),
        ("week --start 2030-01-07 --days 1 --skip 2030-01-07", "no session is left"),
        ("week --time noon", "--time: 'noon'"),
        ("week --client kit", "there is no client 'kit'"),
        ("week --start 2030-01-07 -o texts", "did not make"),
        ("week --start 2030-01-07 -o t.txt", "this is a file"),
        ("week --unit verse", "--unit 'verse'"),
        ("progress", "give --log FILE or --client NAME"),
        ("plan --weekdays mon", "need a first day"),
    ],
)
def test_bad_input_is_one_line(
    desk: Path, capsys: pytest.CaptureFixture[str], line: str, part: str
) -> None:
    (desk / "empty").mkdir()
    (desk / "t.txt").write_text("hello", encoding="utf-8")
    before = sorted(desk.rglob("*"))
    assert part in fails(capsys, *line.split())
    assert sorted(desk.rglob("*")) == before


def test_all_errors_of_a_log_at_once(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "--weeks", "1", "--log-sheet", "log.csv"]) == 0
    fill(desk / "log.csv", "x,x,q,x,0,", "x,x,x,x,7,")
    capsys.readouterr()
    assert run(["progress", "--log", "log.csv"]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "drillgen: log.csv, line 2: pitch is 'q'; write x or yes; no, or leave it blank",
        "drillgen: log.csv, line 3: tension is '7'; write 0, 1 or 2, or none, some or strong",
    ]


def test_paper_and_computer_agree(desk: Path) -> None:
    """A tick is a tick, a blank none; "0" alone says that a session took place."""
    assert run(["plan", "--weeks", "1", "--log-sheet", "log.csv"]) == 0
    fill(desk / "log.csv", "x,,x,,1,", ",,,,0,", ",,,,,", "yes,no,YES,No,strong,")
    found = parse_log((desk / "log.csv").read_text("utf-8"))
    assert [(e.session, e.met, int(e.tension)) for e in found] == [(1, 2, 1), (2, 1, 0), (4, 2, 2)]
