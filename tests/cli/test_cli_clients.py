"""`drillgen client`, and --client on the commands whose options a client carries."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from cli_helper import fails

from drillgen.cli import run
from drillgen.practice.clients import Client, read_client

TEXT = "# Quay\n\nZrovnik saw two boats. We left ten of them at home.\n"


@pytest.fixture
def robin(here: Path) -> Path:
    """A client's file, and a text beside it."""
    (here / "t.txt").write_text(TEXT, encoding="utf-8")
    settings = [
        "--pitch",
        "A3",
        "--rungs",
        "2",
        "--discreet",
        "--unit",
        "phrase",
        "--size",
        "letter",
    ]
    assert run(["client", "new", "Robin", *settings]) == 0
    return here / "own" / "clients" / "robin.toml"


def load(file: Path) -> Client:
    return read_client(file)


def sheet(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    capsys.readouterr()
    assert run(["sheet", "t.txt", "-f", "txt", "-o", "-", *arguments]) == 0
    return capsys.readouterr().out


def test_a_client_holds_where_no_option_is_given(
    robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = sheet(capsys, "--client", "robin")
    assert "Steady note: A3" in said
    assert "Version B2" in said or "Version B 2" in said or said.count("Version B") >= 2
    assert "tongue" not in said
    other = sheet(capsys, "--client", str(robin), "--pitch", "C4", "--rungs", "0")
    assert "Steady note: C4" in other
    assert "Version B" not in other
    assert "Target pitch: G3" in sheet(capsys)
    assert "robin" not in said.lower()


@pytest.mark.usefixtures("robin")
def test_discreet_wins_where_either_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["client", "set", "robin", "--no-discreet"]) == 0
    assert "Target pitch: A3" in sheet(capsys, "--client", "robin")
    assert "Steady note: A3" in sheet(capsys, "--client", "robin", "--discreet")


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("guide -f txt -o -", "Steady note: A3"),
        ("plan -f txt -o -", "B2"),
        ("ladder -f txt -o -", "From phrases to passage"),
        ("prompts --count 1 -f txt -o -", "Steady note: A3"),
        ("page t.txt -o -", "A3"),
        ("word quay", "quay"),
        ("review t.txt --all", "Zrovnik"),
        ("difficulty t.txt", ""),
    ],
)
@pytest.mark.usefixtures("robin")
def test_every_command_takes_a_client(
    line: str, part: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*line.split(), "--client", "robin"]) == 0
    assert part in capsys.readouterr().out


def test_the_tone_is_the_clients(robin: Path) -> None:
    assert run(["tone", "--client", "robin"]) == 0
    assert run(["tone", "C4", "--client", "robin", "--seconds", "1"]) == 0
    here = robin.parents[2]
    assert {path.name for path in here.glob("*.wav")} == {"A3.wav", "C4.wav"}


def test_corrections_go_into_the_clients_file(
    robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "Words to check" in sheet(capsys, "--client", "robin")
    assert run(["words", "add", "Zrovnik", "like: ZROV-nik", "--client", "robin"]) == 0
    assert "zrovnik  Z R" in robin.read_text("utf-8")
    assert "Words to check" not in sheet(capsys, "--client", "robin")
    assert "Words to check" in sheet(capsys)
    assert run(["words", "export", "w.pls", "--client", "robin"]) == 0
    assert run(["client", "new", "kit"]) == 0
    assert run(["words", "import", "w.pls", "--client", "kit"]) == 0
    capsys.readouterr()
    assert run(["words", "show", "--client", "kit"]) == 0
    assert "zrovnik" in capsys.readouterr().out
    assert "give one of them" in fails(
        capsys, *["words", "show", "--list", "x", "--client", "kit"]
    )


def test_texts_and_prompts_that_were_used_are_noted(robin: Path) -> None:
    assert run(["page", "t.txt", "--client", "robin"]) == 0
    assert load(robin).passages == ("t.txt",)
    for name in ("a", "b"):
        arguments = ["prompts", "--client", "robin", "--count", "2", "-f", "txt", "-o", name]
        assert run(arguments) == 0
    sheets = load(robin).prompts
    assert [len(keys) for keys in sheets] == [2, 2]
    assert len(set(load(robin).used_prompts)) == 4


@pytest.mark.parametrize(
    "line",
    ["sheet t.txt", "page t.txt", "prompts --count 1", "week --days 1"],
)
def test_a_protected_file_is_told_before_any_work(
    robin: Path, line: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """No sheet is made that the client's file would know nothing of."""
    may = os.access
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != robin and may(path, mode))
    before = set(Path().iterdir())
    assert "robin.toml: it is write-protected" in fails(capsys, *line.split(), "--client", "robin")
    assert set(Path().iterdir()) == before


def test_prompts_of_two_runs_are_both_noted(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The other run writes while this one makes its sheet."""
    from drillgen.corpus import select

    history = here / "used.txt"
    choose = select.choose_prompts

    def chosen(*arguments: Any, **options: Any) -> Any:
        history.write_text("pets-1-cat\n", encoding="utf-8")
        return choose(*arguments, **options)

    monkeypatch.setattr(select, "choose_prompts", chosen)
    assert run(["prompts", "--count", "2", "--history", "used.txt", "-f", "txt"]) == 0
    assert "pets-1-cat\n" in history.read_text("utf-8")
    assert sum(line.count("-") >= 2 for line in history.read_text("utf-8").splitlines()) == 3


def test_answers_stay_with_their_questions(
    robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An answer sheet names its prompts, whatever was made since; a bare list must be whole."""
    make = ["prompts", "--client", "robin", "--count", "3", "-f", "json"]
    assert run([*make, "-o", "a.json", "--answer-sheet", "a.txt"]) == 0
    assert run([*make, "-o", "b.json"]) == 0
    lines = Path("a.txt").read_text("utf-8").splitlines()
    asked = [line for line in lines if line.startswith("[")]
    Path("a.txt").write_text(
        f"{asked[2]}\nPerhaps\nlater.\n\n{asked[0]}\nYes.\n", encoding="utf-8"
    )
    answer = ["prompts", "--client", "robin", "-f", "json", "--answers"]
    assert run([*answer, "a.txt", "-o", "own.json"]) == 0
    first = json.loads(Path("a.json").read_text("utf-8"))["sheet"]["items"]
    own = json.loads(Path("own.json").read_text("utf-8"))["sheet"]["items"]
    assert [item["key"] for item in own] == [first[2]["key"], first[0]["key"]]
    assert "Perhaps later." in json.dumps(own[0])
    Path("two.txt").write_text("Yes.\nNo.\n", encoding="utf-8")
    capsys.readouterr()
    line = fails(capsys, *answer, "two.txt", "-o", "x.json")
    assert "2 answers, but 3 prompts in the history's latest sheet" in line
    Path("bad.txt").write_text("[food-9-stone] Stones?\nYes.\n", encoding="utf-8")
    assert "bad.txt, line 1: no prompt" in fails(capsys, *answer, "bad.txt", "-o", "x.json")
    Path("none.txt").write_text(f"{asked[0]}\n\n", encoding="utf-8")
    assert "no question has an answer" in fails(capsys, *answer, "none.txt", "-o", "x.json")
    assert len(load(robin).prompts) == 2


def test_the_file_is_looked_after(robin: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("log.csv").write_text(
        "date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note\n"
        "2030-01-07,1,phrase,full,,15,x,x,x,x,0,\n2030-01-08,2,phrase,full,,15,✓,x,x,x,,\n"
        "2030-01-09,3,phrase,partial,2,15,,,,,,\n",
        encoding="utf-8",
    )
    capsys.readouterr()
    assert run(["client", "log", "robin", "log.csv"]) == 0
    assert "2 new sessions, 2 in all" in capsys.readouterr().err
    assert run(["client", "list", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert (row["alias"], row["sessions"], row["last"]) == ("robin", 2, "2030-01-08")
    assert run(["client", "list"]) == 0
    assert "robin\tphrase\tA3\t-\tyes\t2\t2030-01-08" in capsys.readouterr().out
    assert run(["client", "show", "robin"]) == 0
    assert 'pitch = "A3"' in capsys.readouterr().out
    assert run(["client", "set", "robin", "--unset", "rungs"]) == 0
    assert load(robin).rungs is None
    capsys.readouterr()
    assert "nobody to ask" in fails(capsys, "client", "remove", "robin")
    assert run(["client", "remove", "robin", "--yes"]) == 0
    assert list(robin.parent.iterdir()) == []


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("client new robin", "there is such a client already"),
        ("client new Robin_Miller/x", "never a real name"),
        ("client new kit --pitch H9", "--pitch: pitch 'H9'"),
        ("client set robin", "there is nothing to set"),
        ("client set robin --unset name", "--unset 'name' is unknown"),
        ("client set kit --pitch G3", "there is no client 'kit'; choose one of: robin"),
        ("client remove kit --yes", "there is no client 'kit'"),
        ("sheet t.txt --client kit", "drillgen client new kit"),
        ("sheet t.txt --client ./kit.toml", "there is no client 'kit'"),
        ("client log robin none.csv", "none.csv: no such file"),
        ("review t.txt --client robin -o x", "No such option"),
    ],
)
@pytest.mark.usefixtures("robin")
def test_bad_input_is_one_line(capsys: pytest.CaptureFixture[str], line: str, part: str) -> None:
    capsys.readouterr()
    assert part in fails(capsys, *line.split())


def test_the_folder_is_the_teachers_choice(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["client", "new", "ash", "--folder", "stick"]) == 0
    monkeypatch.setenv("DRILLGEN_CLIENTS", str(here / "stick"))
    capsys.readouterr()
    assert run(["client", "list"]) == 0
    assert "ash" in capsys.readouterr().out


def test_a_clients_file_is_never_an_output(
    robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = robin.read_bytes()
    capsys.readouterr()
    line = fails(capsys, *f"sheet t.txt --client robin -f txt -o {robin} --force".split())
    assert "this run reads it" in line
    assert robin.read_bytes() == before


def test_measures_of_takes_go_into_the_clients_file(robin: Path) -> None:
    from drillgen.practice.clients import add_take, read_takes
    from drillgen.practice.takes import TakeRow

    rows = [TakeRow(f"2030-01-0{n}", "chant", 60, n, 196.0, 0.9, 0.4, 2500, 600) for n in (1, 2)]
    for row in rows:
        client = add_take(load(robin), row)
    assert read_takes(client) == tuple(rows)
    assert load(robin).pitch == "A3"


def test_a_take_is_kept_for_a_client_alone(
    here: Path, robin: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "take.wav").write_bytes(b"RIFF")
    assert "--client" in fails(capsys, "check", "take.wav", "t.txt", "--keep")
    both = ["--keep", "--client", str(robin), "--history", "h.csv"]
    assert "choose one" in fails(capsys, "check", "take.wav", "t.txt", *both)


def test_a_broken_file_hides_no_other_client(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["client", "new", "robin"]) == 0
    (here / "own" / "clients" / "half.toml").write_text('log = """\ndate,ses')
    (here / "own" / "clients" / "bad.toml").write_text("pitch = 3\nfoo = 1\n")
    capsys.readouterr()
    assert run(["client", "list"]) == 2
    out, err = capsys.readouterr()
    assert "robin" in out
    for part in ("bad.toml, line 1: ", "bad.toml, line 2: ", "half.toml: not TOML"):
        assert part in err


def test_an_empty_file_is_a_client_without_settings(here: Path) -> None:
    file = here / "own" / "clients" / "wren.toml"
    file.parent.mkdir(parents=True)
    file.write_text("")
    (here / "a.txt").write_text("Two boats met.")
    assert run(["sheet", "a.txt", "--client", "wren", "-f", "txt"]) == 0
    assert 'passages = ["a.txt"]' in file.read_text()
