"""What a good command does: help on a screen, completion, JSON, a pager, a doctor."""

from __future__ import annotations

import json
import os
import pydoc
import re
import subprocess
import sys
from pathlib import Path

import pytest
from cli_helper import fails

import drillgen
from drillgen.cli import TOPICS, build_app, run
from drillgen.cli.output import print_text
from drillgen.core.sources import take_title

ROOT = Path(drillgen.__file__).parents[1]


def test_each_command_has_one_line_of_help(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert run(["--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    start = next(n for n, line in enumerate(lines) if "Material" in line)
    names = [line[2:].split("  ")[0] for line in lines[start:] if line.startswith("│ ")]
    for name in ("sheet", "week", "batch", "client", "check", "words", "doctor"):
        assert names.count(name) == 1
    assert all(names)  # a line that goes on has no name in front


def test_help_names_no_types_of_python(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    for command in ("sheet", "page", "week", "client new", "words add", "find", "check"):
        assert run([*command.split(), "--help"]) == 0
        out = capsys.readouterr().out
        assert not re.search(r"bool|<str|<int|list\[|NoneType", out), command
        assert max(map(len, out.splitlines())) <= 60


@pytest.mark.usefixtures("here")
def test_the_doctor_finds_all_well_and_tells_nothing(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["client", "new", "robin"]) == 0
    capsys.readouterr()
    assert run(["doctor", "--json"]) == 0
    captured = capsys.readouterr()
    findings = {row["name"]: row for row in json.loads(captured.out)}
    assert {"texts", "pronunciation", "PDF", "voice", "sound", "clients"} <= set(findings)
    assert not [row for row in findings.values() if row["state"] == "bad"]
    assert findings["client files"]["text"] == "1 client file"
    for private in ("robin", str(here), str(Path.home())):
        assert private not in captured.out


@pytest.mark.skipif(os.name != "posix", reason="POSIX permissions")
def test_the_doctor_finds_what_is_wrong(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["client", "new", "robin"]) == 0
    file = here / "own" / "clients" / "robin.toml"
    file.chmod(0o644)
    capsys.readouterr()
    assert run(["doctor"]) == 0
    out = capsys.readouterr().out
    assert "others can read 1; chmod 600" in out
    assert out.endswith("All is well.\n")
    file.write_text("name = 'x'\n", encoding="utf-8")
    assert run(["doctor"]) == 2
    out = capsys.readouterr().out
    assert "bad   client files" in out
    assert out.endswith("1 thing to mend.\n")


@pytest.mark.usefixtures("here")
@pytest.mark.skipif(os.name != "posix", reason="a POSIX shell")
def test_shells_complete_commands_and_clients() -> None:
    assert run(["client", "new", "robin"]) == 0
    for words, expected in (("drillgen wee", "week"), ("drillgen sheet --client ro", "robin")):
        done = subprocess.run(
            [sys.executable, "-m", "drillgen"],
            capture_output=True,
            text=True,
            check=False,
            env={
                **os.environ,
                "PYTHONPATH": str(ROOT),
                "_DRILLGEN_COMPLETE": "complete_bash",
                "COMP_WORDS": words,
                "COMP_CWORD": str(words.count(" ")),
            },
        )
        assert expected in done.stdout.split()


@pytest.mark.usefixtures("here")
def test_lists_are_there_for_programs(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["prompts", "--list-topics", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["errands"] == 18
    assert run(["words", "add", "quay", "like: key"]) == 0
    capsys.readouterr()
    assert run(["words", "show", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert (row["word"], row["ipa"]) == ("quay", "ki")


def test_long_lists_are_paged_on_a_terminal_only(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    paged: list[str] = []
    monkeypatch.setattr(pydoc, "pager", paged.append)
    print_text("line\n" * 500)
    assert not paged
    assert capsys.readouterr().out == "line\n" * 500
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    print_text("short")
    assert not paged
    print_text("line\n" * 500)
    assert paged == ["line\n" * 500]


def test_difficulty_is_short_unless_asked(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["difficulty", "--text", "Two boats. We go home."]) == 0
    short = capsys.readouterr().out
    assert run(["difficulty", "--text", "Two boats. We go home.", "--parts"]) == 0
    assert len(short.splitlines()) * 3 < len(capsys.readouterr().out.splitlines())


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("# Quay\n\nTwo boats.", "Quay"),
        ("\n## Quay ##\r\nTwo boats.", "Quay"),
        ("Quay\n====\n\nTwo boats.", "Quay"),
        ("Two boats.\nWe go home.", ""),
        ("# Quay", ""),
        ("#5 is late.\nWe go.", ""),
        ("a == b\nWe go.", ""),
        ("Quay\n\nTwo boats.", "Quay"),
        ("\n 7 Quay  \r\n\r\n Two boats.", "7 Quay"),
        ("“Old (Quay)”\n\nTwo boats.", "“Old (Quay)”"),
        ("The Quay at the End of the Road\n\nTwo boats.", "The Quay at the End of the Road"),
        ("The Quay at the End of the Long Road\n\nTwo boats.", ""),
        ("Quay\nTwo boats.", ""),
        ("Quay\n\nTwo boats", ""),
        ("Quay,\n\ntwo boats.", ""),
        ("Two boats!\n\nWe go home.", ""),
        ("quay\n\nTwo boats.", ""),
        ("Dear Sam\n\nTwo boats.", ""),
        ("Q" * 61 + "\n\nTwo boats.", ""),
    ],
)
def test_the_first_heading_is_the_title(text: str, title: str) -> None:
    """CommonMark 0.31, 4.2 and 4.3: ATX and setext headings; a short line alone."""
    found, rest = take_title(text)
    assert found == title
    assert "Quay" not in rest or not title


@pytest.mark.parametrize("command", ["sheet", "page"])
def test_what_the_word_list_does_is_told(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, words = tmp_path / "text.txt", tmp_path / "words.txt"
    text.write_text("Please close the close door.")
    words.write_text("close  K L OW1 S\n")
    made = tmp_path / ("made.html" if command == "page" else "made.txt")
    assert run([command, str(text), "--words", str(words), "-o", str(made)]) == 0
    assert "'close' in one way in all 2 places" in capsys.readouterr().err


def test_the_list_of_commands_says_what_each_says_of_itself() -> None:
    """The list is made without loading the commands, so it has their words."""
    commands = {command.name: command for command in build_app().registered_commands}
    groups = {group.name: group.typer_instance for group in build_app().registered_groups}
    for topic in TOPICS.values():
        for name, short in topic.items():
            group = groups.get(name)
            said = group.info.help if group else commands[name].callback.__doc__
            assert re.match(re.escape(short) + r"( \(|[:;,.](\s|$))", str(said)), name


def test_what_checks_other_kinds_of_options_is_not_loaded() -> None:
    """It takes longer than grading a text (bench/speed.py)."""
    code = (
        "import sys; from drillgen.cli import run; "
        "run(['sheet', '--text', 'Two boats.', '-f', 'txt', '-o', '-', '--rungs', '2']); "
        "sys.exit('pydantic' in sys.modules or 'drillgen.cli.batch' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize(
    ("word", "source"),
    [
        ("beautiful", "1. dictionary"),
        ("beacuse", "1. a slip for “because”, "),
        ("unboaty", "1. guessed from the spelling; "),
        ("kayaked", "1. "),
    ],
)
def test_a_word_is_explained_in_plain_words(
    word: str, source: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["word", word]) == 0
    out = capsys.readouterr().out
    assert f"  {source}" in out
    assert not re.search("override|derived|predicted|homograph", out)


def test_a_table_of_words_is_taken(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = here / "names.csv"
    table.write_text("Name;Sounds like\nSiobhan;shiv-AWN\nclose (in Quay);K L OW1 Z\n")
    assert run(["words", "import", "names.csv"]) == 0
    kept = (here / "own" / "words.txt").read_text()
    assert kept == "siobhan  SH IH0 V AO1 N\nclose (in quay)  K L OW1 Z\n"
    capsys.readouterr()
    assert run(["words", "show"]) == 0
    assert "close (in quay)\tKLOHZ\t/kloʊz/\n" in capsys.readouterr().out
    assert "import takes this file" in fails(
        capsys, "words", "add", "x", "EH", "--list", "names.csv"
    )
    table.write_text("Siobhan\n")
    said = fails(capsys, "words", "import", "names.csv")
    assert said.startswith("drillgen: names.csv, line 1: 'Siobhan' has no pronunciation; ")


@pytest.mark.parametrize("command", ["sheet", "week", "prompts", "voice"])
def test_a_long_help_begins_with_what_is_used_most(
    command: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert run([command, "--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    panels = [line.split("─")[1].strip() for line in lines if line.startswith("╭─")]
    assert next(name for name in panels if name not in ("Arguments", "Options")) == "Used most"
    start = next(n for n, line in enumerate(lines) if "Used most" in line)
    assert lines[start + 1].startswith("│ --out")
    assert len(lines) <= 58
