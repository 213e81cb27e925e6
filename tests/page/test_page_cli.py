"""`drillgen page`: what it writes, and one clear line when it can't."""

from __future__ import annotations

from pathlib import Path

import pytest
import typer

from drillgen.cli import page as command
from drillgen.cli.options import with_options
from drillgen.core.errors import DrillgenError


def run(*arguments: str) -> None:
    app = typer.Typer()
    app.command()(with_options(command.page))
    app.callback()(lambda: None)
    typer.main.get_command(app).main(["page", *arguments], standalone_mode=False)


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own" / "words.txt"))
    return tmp_path


def test_writes_a_page(own_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_folder / "tide.txt").write_text("The tide turns. Who is there?", encoding="utf-8")
    run("tide.txt")
    run("tide.txt", "-o", "practice.html", "--rungs", "2", "--rate", "2.5", "--pitch", "A3")
    assert "wrote practice.html" in capsys.readouterr().err
    assert (own_folder / "tide-practice.html").is_file()
    text = (own_folder / "practice.html").read_text(encoding="utf-8")
    assert 'value="2.5"' in text
    assert '<strong id="note">A3</strong> · <span id="note-hz">220 Hz' in text
    assert "rung 2 of 2" in text
    # The name of a file may tell; it is never a title.
    assert "<title>Resonance drill</title>" in text


@pytest.mark.parametrize("voice", ["none", "higher"])
def test_a_version_that_would_say_the_same_again_is_left_out(
    own_folder: Path, capsys: pytest.CaptureFixture[str], voice: str
) -> None:
    run("--text", "A calm spa.", "--rungs", "3", "--voice", voice, "-o", "short.html")
    # The full swap, the partial one and the original.
    assert (own_folder / "short.html").read_text(encoding="utf-8").count("<article") == 3
    assert "it has 1" in capsys.readouterr().err


def test_same_input_same_bytes(own_folder: Path) -> None:
    for name in ("a.html", "b.html"):
        run("--text", "The tide turns.", "-o", name, "--discreet")
    assert (own_folder / "a.html").read_bytes() == (own_folder / "b.html").read_bytes()
    assert b"<title>Reading practice</title>" in (own_folder / "a.html").read_bytes()


def test_our_passage_to_standard_output(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    run("-o", "-", "--pitch", "none")
    assert capfdbinary.readouterr().out.startswith(b"<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        pytest.param(["--text", " "], "no text in it", id="empty"),
        pytest.param(["gone.txt"], "gone.txt", id="no file"),
        pytest.param(["--text", "Boat.", "-o", "boat.pdf"], "ends in .html", id="not html"),
        pytest.param(
            ["--text", "Boat.", "-o", __file__ + "/boat.html"], "is no folder", id="folder"
        ),
        pytest.param(["--text", "Boat.", "--rate", "9"], "0.5 to 4", id="rate"),
        pytest.param(["--text", "Boat.", "--voice", "robot"], "choose one of", id="voice"),
        pytest.param(["--text", "Boat.", "--rungs", "13"], "0 to 12", id="rungs"),
        pytest.param(["--text", "Boat.", "--repetitions", "0"], "1 to 12", id="repetitions"),
        pytest.param(["--text", "Boat.", "--pitch", "H3"], "not a note", id="pitch"),
        pytest.param(["--text", "Boat.", "--partial", "some"], "choose one of", id="strategy"),
        pytest.param(["--text", "boat " * 3001], "at most 3000", id="long"),
    ],
)
def test_one_clear_line(own_folder: Path, arguments: list[str], message: str) -> None:
    with pytest.raises(DrillgenError) as caught:
        run(*arguments)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)
    assert list(own_folder.glob("*.html")) == []
