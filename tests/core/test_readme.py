"""The README is true: its examples run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from drillgen.cli import run

README = Path(__file__).parents[2] / "README.md"
COMMANDS = re.findall(
    r"^    (drillgen .*?)(?:\s+#.*)?$", README.read_text(encoding="utf-8"), flags=re.M
)
# These start a server or ask questions on a terminal.
WAITING = ("drillgen serve",)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "words.txt"))
    for name in ("my-text.txt", "a.txt", "b.txt"):
        (tmp_path / name).write_text("See you on the quay.", encoding="utf-8")
    (tmp_path / "my-answers.txt").write_text("I buy bread.\n" * 12, encoding="utf-8")
    (tmp_path / "corpus.txt").write_text("The blue moon rose over you.\n" * 50, encoding="utf-8")
    return tmp_path


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 9


@pytest.mark.parametrize("command", [c for c in COMMANDS if not c.startswith(WAITING)])
@pytest.mark.usefixtures("folder")
def test_command_runs(command: str) -> None:
    assert run(shlex.split(command)[1:]) == 0


def test_python_example_runs() -> None:
    text = README.read_text(encoding="utf-8")
    block = re.search(r"^    import drillgen\n(?:    .*\n|\n)+", text, flags=re.M)
    assert block is not None
    scope: dict[str, object] = {}
    exec(re.sub(r"^    ", "", block[0], flags=re.M), scope)
    pdf = scope["pdf"]
    assert isinstance(pdf, bytes)
    assert pdf.startswith(b"%PDF")
