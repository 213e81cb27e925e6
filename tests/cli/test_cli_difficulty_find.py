"""`drillgen difficulty` and `drillgen find`."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest
from cli_helper import fails

from drillgen.cli import run
from drillgen.cli.output import show_progress
from drillgen.corpus.difficulty import PART_RULES

pytestmark = pytest.mark.usefixtures("here")

TEXT = "The goose flew to the blue lagoon. We eat cheese. Who knows?"


def scores(capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    assert run(["difficulty", "--text", TEXT, "--json", *options]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    return data


def test_parts_totals_and_steps(capsys: pytest.CaptureFixture[str]) -> None:
    data = scores(capsys)
    assert [s["text"] for s in data["sentences"]] == [
        "The goose flew to the blue lagoon.",
        "We eat cheese.",
        "Who knows?",
    ]
    for sentence in data["sentences"]:
        assert [part["name"] for part in sentence["parts"]] == [rule.name for rule in PART_RULES]
        points = sum(part["points"] for part in sentence["parts"])
        assert sentence["total"] == pytest.approx(points, abs=0.01)
    totals = [s["total"] for s in data["sentences"]]
    assert data["mean"] == pytest.approx(sum(totals) / 3, abs=0.001)
    assert totals[0] > totals[1]
    assert run(["difficulty", "--text", TEXT, "--parts"]) == 0
    out = capsys.readouterr().out
    for rule in PART_RULES:
        assert out.count(f"\n{rule.name}") == 3
    assert "3 sentences: " in out
    assert "hardest (" in out
    assert run(["difficulty", "--text", TEXT, "--brief"]) == 0
    assert "Bark" not in capsys.readouterr().out


def test_a_rung_is_easier_than_the_full_swap(capsys: pytest.CaptureFixture[str]) -> None:
    """Rungs nest, and what is swapped travels: the mean falls from rung to rung."""
    full = scores(capsys)["mean"]
    means = [
        scores(capsys, "--partial", "distance", "--rungs", "3", "--rung", str(rung))["mean"]
        for rung in (3, 2, 1)
    ]
    assert [full, *means] == sorted([full, *means], reverse=True)
    assert means[0] > means[-1]
    default = scores(capsys, "--rungs", "3", "--partial", "distance")
    assert (default["rung"], default["rungs"], default["version"]) == (3, 3, "partial")
    assert default["mean"] == means[0]


def test_target_and_accent(capsys: pytest.CaptureFixture[str]) -> None:
    for options in (["--target", "u"], ["--accent", "non-rhotic"]):
        assert scores(capsys, *options)["sentences"]
    goose = scores(capsys, "--target", "u")["sentences"][0]["total"]
    assert goose < scores(capsys)["sentences"][0]["total"]


def test_files_and_encodings(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "a.txt").write_bytes("The café is near.".encode("latin-1"))
    assert run(["difficulty", "a.txt", "--encoding", "latin-1", "--brief"]) == 0
    assert "café" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        ([], "there is no text"),
        (["x.txt"], "no such file"),
        (["x.txt", "--text", "a"], "don't go together"),
        (["--text", "..."], "no sentence with a word"),
        (["--text", "a", "--partial", "some"], "--partial 'some'"),
        (["--text", "a", "--rungs", "13"], "0 to 12"),
        (["--text", "a", "--rungs", "0"], "--rung must be 1 to 0"),
        (["--text", "a", "--rung", "2"], "--rung must be 1 to 1 (--rungs), not 2"),
        (["--text", "a", "--target", "7"], "target '7'"),
    ],
)
def test_difficulty_bad_input(
    capsys: pytest.CaptureFixture[str], arguments: list[str], part: str
) -> None:
    assert part in fails(capsys, "difficulty", *arguments)


# find

SENTENCES = (
    "The new moon is blue.",
    "Sue drew a cool blue pool.",
    "The cat sat on the mat.",
    "We ate bread and jam.",
)


@pytest.fixture
def corpus(here: Path) -> Path:
    path = here / "corpus.txt"
    path.write_text(" ".join(SENTENCES * 30) + "\n\n", encoding="utf-8")
    return path


@pytest.mark.usefixtures("corpus")
def test_find_the_richest(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["find", "corpus.txt", "--step", "1", "--rich-in", "GOOSE", "--workers", "1"]
    assert run([*arguments, "--count", "2", "-f", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {row["text"] for row in rows} <= set(SENTENCES[:2])
    assert rows
    assert all(set(row["words"]) <= {"new", "moon", "blue", "sue", "drew", "cool", "pool"}
               for row in rows)  # fmt: skip
    assert [row["share"] for row in rows] == sorted((r["share"] for r in rows), reverse=True)
    assert run([*arguments, "--count", "5", "-f", "md"]) == 0
    captured = capsys.readouterr()
    assert captured.out.startswith("| Sentence")
    assert f"found {len(rows)}, not 5" in captured.err


@pytest.mark.usefixtures("corpus")
def test_what_is_found_goes_into_a_sheet(here: Path) -> None:
    arguments = ["find", "corpus.txt", "--rich-in", "goose", "--workers", "1", "-o", "found.txt"]
    assert run(arguments) == 0
    assert run(["sheet", "found.txt", "-f", "txt"]) == 0
    assert "BLEE" in (here / "found-drill.txt").read_text(encoding="utf-8")


def test_find_says_what_encoding_it_guessed(
    capsys: pytest.CaptureFixture[str], here: Path
) -> None:
    (here / "old.txt").write_text("You grew fruit on the café’s roof. We knew.", encoding="cp1252")
    assert run(["find", "old.txt", "--workers", "1"]) == 0
    assert "old.txt is not UTF-8; read as cp1252 (a guess" in capsys.readouterr().err


@pytest.mark.parametrize("kind", ["txt", "md"])
def test_nothing_found_writes_nothing(
    kind: str, capsys: pytest.CaptureFixture[str], here: Path
) -> None:
    (here / "short.txt").write_text("Two. Words.\n", "utf-8")
    assert run(["find", "short.txt", "-f", kind, "-o", f"found.{kind}"]) == 0
    assert "found 0, not 20; try another --step, or a longer text" in capsys.readouterr().err
    assert not (here / f"found.{kind}").exists()


@pytest.mark.usefixtures("corpus")
def test_two_processes_find_the_same(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    # A file of two blocks would be large; two files are two blocks.
    (here / "second.txt").write_text("You grew fruit on the roof.\n\n", encoding="utf-8")
    outs = []
    for workers in ("1", "2"):
        arguments = ["find", "corpus.txt", "second.txt", "--rich-in", "GOOSE"]
        assert run([*arguments, "--workers", workers]) == 0
        outs.append(capsys.readouterr().out)
    assert outs[0] == outs[1]
    assert outs[0].strip()


@pytest.mark.usefixtures("corpus")
def test_a_bar_on_a_terminal_only(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(["find", "corpus.txt", "--workers", "1", "--count", "1"]) == 0
    assert "reading" not in capsys.readouterr().err
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    with show_progress("reading") as progress:
        assert progress is not None
        progress(5, 10)
        progress(10, 10)
    assert "100%" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["none.txt"], "none.txt"),
        (["corpus.txt", "--rich-in", "WHALE"], "lexical set 'WHALE'"),
        (["corpus.txt", "--step", "4"], "step must be 1, 2 or 3"),
        (["corpus.txt", "--count", "0"], "count must be 1 to 10000"),
        (["corpus.txt", "--workers", "0"], "workers must be 1 or more"),
        (["corpus.txt", "-f", "pdf"], "no pdf"),
        (["corpus.txt", "--target", "x"], "target 'x'"),
        (["corpus.txt", "-o", __file__ + "/x.txt"], "is no folder"),
        ([], "FILE"),
    ],
)
@pytest.mark.usefixtures("corpus")
def test_find_bad_input(
    capsys: pytest.CaptureFixture[str], arguments: list[str], part: str
) -> None:
    assert part in fails(capsys, "find", *arguments)
