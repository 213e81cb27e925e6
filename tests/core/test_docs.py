"""README and tutorials are true: their commands and snippets run, and their links lead somewhere.

In a tutorial an indented block is a list of commands, Python, or, after "`NAME`:", the content
of that file; all of it runs in its order in one folder.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Final, NamedTuple

import pytest

from drillgen.cli import run

ROOT: Final = Path(__file__).parents[2]
README: Final = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS: Final = re.findall(r"^    (drillgen .*?)(?:\s+#.*)?$", README, flags=re.M)
TUTORIALS: Final = ("tutorial-teacher", "tutorial-client", "method", "inspect")
WAITING: Final = ("drillgen serve",)
"""They start a server: only their options are read."""

NEEDS: Final = {
    "inspect my": ["sheet", "my-text.txt", "--discreet"],
    "inspect session": ["week", "--discreet", "--days", "1", "-o", "sessions"],
    "--client": ["client", "new", "robin", "--unit", "phrase"],
    "client log": ["client", "new", "robin"],
    "progress": ["client", "log", "robin", "filled.csv"],
    "check": ["voice", "my-text.txt", "--gap", "0", "--no-note", "-o", "take.wav"],
}
"""What must have been done before a command with these letters."""

LOG: Final = """\
date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note
2026-11-30,1,phrase,full,,15,x,x,x,x,0,
"""


class Block(NamedTuple):
    """An indented block of a document."""

    name: str
    """The file that it is the content of, or nothing."""

    text: str


def read_blocks(text: str) -> Iterator[Block]:
    """The indented blocks of a Markdown text."""
    pattern = r"(?:^`([\w./-]+)`:\n\n)?((?:^    .*\n(?:\n(?=    ))*)+)"
    for match in re.finditer(pattern, text, flags=re.M):
        yield Block(match[1] or "", re.sub(r"^    ", "", match[2], flags=re.M))


def run_command(line: str) -> int:
    """Run one command as a shell would split it."""
    words = shlex.split(line, comments=True)[1:]
    return run([*words, "--help"] if line.startswith(WAITING) else words)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own" / "words.txt"))
    return tmp_path


@pytest.fixture
def filled(folder: Path) -> Path:
    """The files that README and reference speak of."""
    for name in ("my-text.txt", "a.txt", "b.txt"):
        (folder / name).write_text("See you on the quay, you two, at noon.", encoding="utf-8")
    (folder / "my-answers.txt").write_text("I buy bread.\n" * 12, encoding="utf-8")
    (folder / "corpus.txt").write_text("The blue moon rose over you.\n" * 50, encoding="utf-8")
    (folder / "filled.csv").write_text(LOG, encoding="utf-8")
    (folder / "caseload.csv").write_text("client,text\n,a.txt\n", encoding="utf-8")
    return folder


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 25
    assert README.count("\n") <= 90


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.usefixtures("filled")
def test_a_command_of_the_readme_runs(command: str) -> None:
    if " check " in command:
        pytest.importorskip("pocketsphinx")
    for letters, before in NEEDS.items():
        if letters in command and not command.startswith("drillgen client new"):
            assert run(before) in (0, 2)
    assert run_command(command) == 0


@pytest.mark.parametrize("name", TUTORIALS)
def test_a_tutorial_runs(name: str, request: pytest.FixtureRequest) -> None:
    request.getfixturevalue("filled" if name == "inspect" else "folder")
    text = (ROOT / "docs" / f"{name}.md").read_text(encoding="utf-8")
    if name == "inspect":
        assert run(["sheet", "my-text.txt", "--discreet"]) == 0
        assert run(["week", "--discreet", "--days", "1", "-o", "sessions"]) == 0
    for block in read_blocks(text):
        if block.name:
            path = Path(block.name)
            path.parent.mkdir(exist_ok=True)
            path.write_text(block.text, encoding="utf-8")
        elif block.text.startswith("drillgen "):
            for line in block.text.splitlines():
                if line.startswith("drillgen check"):
                    pytest.importorskip("pocketsphinx")
                assert run_command(line) == 0, line
        else:
            exec(block.text, {})


def test_the_example_in_python_runs() -> None:
    (text,) = (b.text for b in read_blocks(README) if b.text.startswith("import drillgen"))
    scope: dict[str, object] = {}
    exec(text, scope)
    pdf = scope["pdf"]
    assert isinstance(pdf, bytes)
    assert pdf.startswith(b"%PDF")


@pytest.mark.parametrize("path", [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))])
def test_links_lead_somewhere(path: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)", path.read_text(encoding="utf-8")):
        if not target.startswith(("http", "mailto")):
            assert (path.parent / target).exists(), target


def test_every_command_is_in_the_readme() -> None:
    from drillgen.cli import TOPICS

    for name in chain.from_iterable(TOPICS.values()):
        assert f"drillgen {name}" in README, name


@pytest.mark.parametrize("path", sorted((ROOT / "bench" / "results").glob("*.txt")))
def test_results_name_no_machine(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"Traceback|(?<![\w.<…])/(?:home|root|tmp|work|usr)/", text)
