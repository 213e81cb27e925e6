"""`drillgen batch`: a caseload; bad rows are said and stop nothing; it can be run again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_helper import check_pdf, fails

from drillgen.cli import run
from drillgen.practice.clients import read_client

TABLE = """\
client,text,out,format,pitch,discreet
kit,a.txt,,txt,,
kit,b.txt,,txt,C4,
,a.txt,,txt,,yes
,none.txt,,txt,,
nobody,a.txt,,txt,,
kit,a.txt,x,txt,H9,
kit,a.txt,../x,txt,,
kit,a.txt,,txt,,
,empty.txt,,txt,,
"""


@pytest.fixture
def desk(here: Path) -> Path:
    """Texts, a client and a table with good and bad rows."""
    (here / "a.txt").write_text("# Quay\n\nTwo boats. We go home.\n", encoding="utf-8")
    (here / "b.txt").write_text("We met at the shop.\n", encoding="utf-8")
    (here / "empty.txt").write_text("!\n", encoding="utf-8")
    (here / "table.csv").write_text(TABLE, encoding="utf-8")
    assert run(["client", "new", "kit", "--pitch", "A3"]) == 0
    return here


def states(capsys: pytest.CaptureFixture[str], *more: str) -> dict[int, str]:
    capsys.readouterr()
    run(["batch", "table.csv", "--workers", "1", "--json", *more])
    return {row["line"]: row["state"] for row in json.loads(capsys.readouterr().out)}


def test_texts_are_noted_as_a_single_sheet_notes_them(desk: Path) -> None:
    """So that the next week takes others; what was not made was not used."""
    assert run(["batch", "table.csv", "--workers", "1"]) == 2
    file = desk / "own" / "clients" / "kit.toml"
    assert read_client(file).passages == ("a.txt", "b.txt")
    # Nothing is made again, so nothing is noted again.
    assert run(["sheet", "a.txt", "--client", "kit", "-f", "txt", "-o", "x.txt"]) == 0
    assert run(["batch", "table.csv", "--workers", "1"]) == 2
    assert read_client(file).passages == ("b.txt", "a.txt")


def test_bad_rows_are_said_and_stop_nothing(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert run(["batch", "table.csv"]) == 2  # in processes of their own
    said = capsys.readouterr().err.splitlines()
    assert [line.split(": ")[1] for line in said[:-1]] == [
        f"table.csv, line {n}" for n in (5, 6, 7, 8, 9, 10)
    ]
    assert said[-1] == "3 made in handouts, 0 as they were, 6 failed"
    parts = ("no such file", "no client 'nobody'", "pitch 'H9'", "outside the folder")
    for part, line in zip((*parts, "line 2 writes", "nothing to say"), said, strict=False):
        assert part in line
    made = {str(p.relative_to(desk / "handouts")) for p in (desk / "handouts").rglob("*.txt")}
    assert made == {"kit/a-drill.txt", "kit/b-drill.txt", "a-sheet.txt"}
    assert "A3" in (desk / "handouts/kit/a-drill.txt").read_text("utf-8")
    assert "C4" in (desk / "handouts/kit/b-drill.txt").read_text("utf-8")
    assert "Steady note" in (desk / "handouts/a-sheet.txt").read_text("utf-8")


def test_what_is_done_is_passed_over(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = TABLE.splitlines()[:4]
    (desk / "table.csv").write_text("\n".join(good) + "\n", encoding="utf-8")
    assert set(states(capsys).values()) == {"made"}
    assert set(states(capsys).values()) == {"as it was"}
    # A text, a setting, a word: what depends on it is made again, the rest is not.
    (desk / "b.txt").write_text("We meet at the quay.\n", encoding="utf-8")
    assert states(capsys) == {2: "as it was", 3: "made", 4: "as it was"}
    assert run(["client", "set", "kit", "--pitch", "B3"]) == 0
    assert states(capsys) == {2: "made", 3: "as it was", 4: "as it was"}
    assert run(["words", "add", "boats", "like: bohts", "--client", "kit"]) == 0
    assert states(capsys) == {2: "made", 3: "made", 4: "as it was"}
    # One that is lost is made again; one that somebody changed is not replaced.
    (desk / "handouts/a-sheet.txt").unlink()
    (desk / "handouts/kit/a-drill.txt").write_text("my notes\n", encoding="utf-8")
    assert states(capsys) == {2: "failed", 3: "as it was", 4: "made"}
    assert (desk / "handouts/kit/a-drill.txt").read_text("utf-8") == "my notes\n"
    assert set(states(capsys, "--force").values()) == {"made"}
    journal = (desk / "handouts/.made").read_text("ascii")
    assert set(journal) <= set("0123456789abcdef\n")


def test_a_sheet_is_the_same_as_that_of_a_command(desk: Path) -> None:
    (desk / "table.csv").write_text("text;format\na.txt;pdf\n", encoding="utf-8")
    assert run(["batch", "table.csv", "-o", "out"]) == 0
    assert run(["sheet", "a.txt"]) == 0
    check_pdf(desk / "out" / "a-drill.pdf", "Quay")
    assert (desk / "out/a-drill.pdf").read_bytes() == (desk / "a-drill.pdf").read_bytes()


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "no text"),
        ("text\n", "there are no rows"),
        ("name,text\nx,a.txt\n", "line 1: column 'name' is unknown"),
        ("client\nkit\n", "line 1: no column text"),
    ],
)
def test_bad_tables(desk: Path, capsys: pytest.CaptureFixture[str], text: str, part: str) -> None:
    (desk / "table.csv").write_text(text, encoding="utf-8")
    capsys.readouterr()
    assert part in fails(capsys, "batch", "table.csv")
    assert not (desk / "handouts").exists()
    assert "1 or more" in fails(capsys, "batch", "table.csv", "--workers", "0")


def test_what_a_word_list_does_is_told(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (desk / "c.txt").write_text("Please close the door. Ada is close by.\n", encoding="utf-8")
    (desk / "table.csv").write_text("client,text,format\nkit,c.txt,txt\n", encoding="utf-8")
    assert run(["words", "add", "close", "K L OW1 S", "--client", "kit"]) == 0
    capsys.readouterr()
    assert run(["batch", "table.csv", "--workers", "1", "--json"]) == 0
    out, err = capsys.readouterr()
    assert "table.csv, line 2: the word list says 'close' in one way in all 2 places" in err
    assert "'close' in one way" in json.loads(out)[0]["notes"][0]


def test_a_guessed_encoding_is_told(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (desk / "d.txt").write_bytes("“The café is open,” she said.\n".encode("cp1252"))
    (desk / "table.csv").write_text("text,format\nd.txt,txt\n", encoding="utf-8")
    assert run(["batch", "table.csv", "--workers", "1"]) == 0
    assert "line 2: d.txt is not UTF-8; read as cp1252 (a guess" in capsys.readouterr().err
