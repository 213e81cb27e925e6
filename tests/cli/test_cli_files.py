"""Nothing of the user's is overwritten, and what goes wrong outside is one line."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from cli_helper import fails

import drillgen
from drillgen.__main__ import expand
from drillgen.cli import run

TEXT = "See you on the quay.\n"


@pytest.fixture
def kept(here: Path) -> Iterator[Path]:
    """A folder with files of the user, which are the same at the end."""
    (here / "t.txt").write_text(TEXT, encoding="utf-8")
    (here / "t.md").write_text("# Tide\n\nSee you.\n", encoding="utf-8")
    (here / "p.html").write_text("See you.\n", encoding="utf-8")
    (here / "w.txt").write_text("quay K IY1\n", encoding="utf-8")
    (here / "h.txt").write_text("food-1-tea\n", encoding="utf-8")
    (here / "a.txt").write_text("I buy bread.\n" * 6, encoding="utf-8")
    (here / "link.txt").symlink_to("t.txt")
    os.link(here / "t.txt", here / "hard.txt")
    before = {path.name: path.read_bytes() for path in here.iterdir()}
    yield here
    assert {n: (here / n).read_bytes() for n in before} == before
    assert (here / "link.txt").is_symlink()


@pytest.mark.parametrize(
    "line",
    """find t.txt -o t.txt
    prompts --answers a.txt -f txt -o a.txt
    prompts --history h.txt -f txt -o h.txt
    words export w.txt --list w.txt
    words export w.txt --list w.txt --force
    sheet t.txt -f txt -o t.txt
    sheet t.txt -f txt -o t.txt --force
    sheet t.txt -f txt -o ./t.txt
    sheet t.txt -f txt -o link.txt --force
    sheet link.txt -f txt -o t.txt --force
    sheet hard.txt -f txt -o t.txt --force
    sheet t.md -f md -o t.md
    page p.html -o p.html
    sheet t.txt --words w.txt -f txt -o w.txt
    sheet t.txt -f txt -o h.txt
    sheet t.txt -f txt -o a.txt
    ladder -f txt -o t.txt
    plan --log h.txt -f txt -o h.txt
    voice t.txt -o t.txt
    tone -o t.txt""".splitlines(),
)
def test_files_of_the_user_stay(kept: Path, capsys: pytest.CaptureFixture[str], line: str) -> None:
    fails(capsys, *line.split())
    assert not list(kept.glob(".drillgen-*"))


@pytest.mark.parametrize(
    "line",
    """plan --log-sheet p.pdf -o p.pdf
    plan --start 2030-01-07 --ical q --log-sheet q
    plan --log-sheet plan.pdf
    sheet -f pdf -f md -o -
    sheet t.txt -f txt -f txt -o - -f md
    prompts -f txt -f md -o -""".splitlines(),
)
def test_two_outputs_never_share_a_name(
    kept: Path, capsys: pytest.CaptureFixture[str], line: str
) -> None:
    fails(capsys, *line.split())
    assert not list(kept.glob("*.pdf"))


SHEET = ["sheet", "t.txt", "-f", "txt", "-o", "s.txt"]


def test_our_own_file_is_replaced_by_the_same_command(kept: Path) -> None:
    assert run(SHEET) == 0
    (kept / "t.txt").write_text("We meet again.", encoding="utf-8")
    assert run(SHEET) == 0
    assert "meet" in (kept / "s.txt").read_text(encoding="utf-8")
    (kept / "t.txt").write_text(TEXT, encoding="utf-8")


@pytest.mark.parametrize(
    "other",
    [
        [*SHEET, "--discreet"],
        [*SHEET, "--pitch", "A3"],
        ["ladder", "-f", "txt", "-o", "s.txt"],
        ["prompts", "-f", "txt", "-o", "s.txt"],
    ],
    ids=["discreet", "pitch", "ladder", "prompts"],
)
def test_another_kind_or_other_options_ask_for_force(
    kept: Path, capsys: pytest.CaptureFixture[str], other: list[str]
) -> None:
    assert run(SHEET) == 0
    before = (kept / "s.txt").read_bytes()
    capsys.readouterr()
    assert "--force" in fails(capsys, *other)
    assert (kept / "s.txt").read_bytes() == before
    assert run([*other, "--force"]) == 0
    assert (kept / "s.txt").read_bytes() != before


def test_what_the_user_changed_is_the_users(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(SHEET) == 0
    with (kept / "s.txt").open("a", encoding="utf-8") as file:
        file.write("my own note\n")
    capsys.readouterr()
    assert "--force" in fails(capsys, *SHEET)


def test_the_list_of_seals_tells_nothing(kept: Path) -> None:
    """Keyed hashes only: no name, no word, no path, for the owner alone."""
    assert run(SHEET) == 0
    made = kept / "own" / "made"
    assert all(set(line) <= set("0123456789abcdef") for line in made.read_text().splitlines())
    if os.name == "posix":
        assert made.stat().st_mode & 0o777 == 0o600
        assert made.parent.stat().st_mode & 0o777 == 0o700


def test_without_a_home_everything_works_but_the_second_time(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "own").write_text("a file where the folder should be", encoding="utf-8")
    assert run(["sheet", "--text", TEXT, "-f", "txt", "-o", "s.txt"]) == 0
    capsys.readouterr()
    assert "--force" in fails(capsys, "sheet", "--text", TEXT, "-f", "txt", "-o", "s.txt")
    (here / "w.txt").write_text("quay K IY1\n", encoding="utf-8")
    for arguments in (["words", "add", "quay", "like: key"], ["words", "import", "w.txt"]):
        assert "own: can't be made" in fails(capsys, *arguments)
    monkeypatch.setenv("DRILLGEN_WORDS", str(here / ("x" * 300) / "words.txt"))
    assert "read" in fails(capsys, "word", "quay")


@pytest.mark.parametrize(
    "line",
    [
        "sheet " + "x" * 300,
        "sheet --text Boat. -o " + "x" * 300 + ".pdf",
        "sheet t.txt --encoding punycode",
        "sheet t.txt --encoding undefined",
        "words add #x K",
        "words add !! K",
        "words add quay ''",
        "review --text ☀",
        "page --text ☀",
        "voice --text ☀",
    ],
)
def test_one_line_each(kept: Path, capsys: pytest.CaptureFixture[str], line: str) -> None:
    fails(capsys, *[part.strip("'") for part in line.split(" ")])
    assert not (kept / "own").exists()


# In processes of their own


ROOT = Path(drillgen.__file__).parents[1]


def start(line: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run the command line as a program, of this checkout, in a shell."""
    return subprocess.run(
        ["sh", "-c", f"{sys.executable} -m drillgen {line}"],
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), **variables},
    )


@pytest.mark.usefixtures("here")
@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
@pytest.mark.parametrize(
    "line", ["sheet /dev/zero", "inspect /dev/zero", "words import /dev/zero"]
)
def test_what_never_ends_is_not_read_to_its_end(
    here: Path, capsys: pytest.CaptureFixture[str], line: str
) -> None:
    said = fails(capsys, *line.split())
    assert said == "drillgen: /dev/zero: larger than 64 MB; split it into several files"
    assert not list(here.iterdir())


def test_patterns_are_files_where_the_shell_leaves_them(here: Path) -> None:
    for name in ("b.txt", "a.txt", "c.md"):
        (here / name).touch()
    words = ["sheet", "*.txt", "--text", "Is it late?", "none*.txt"]
    assert expand(words) == ["sheet", "a.txt", "b.txt", "--text", "Is it late?", "none*.txt"]


def test_a_link_to_nothing_is_not_offered_as_its_own_mend(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "t.txt").symlink_to("gone.txt")
    assert fails(capsys, "sheet", "t.txt") == "drillgen: t.txt: no such file; check the name"


def test_files_get_utf_8_whatever_the_system_writes() -> None:
    """A redirected output on Windows is in cp1252, which has no ʃ."""
    system = {"PYTHONUTF8": "0", "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0"}
    assert "ʃɪp" in start("word ship", **system).stdout
    asked = start("word ship", **system, PYTHONIOENCODING="cp1252")
    assert asked.returncode == 2
    assert asked.stderr.startswith("drillgen: standard output is in cp1252, which has no ")
    assert asked.stderr.count("\n") == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full")
def test_a_full_disk() -> None:
    done = start("word ship > /dev/full")
    assert done.returncode == 2
    assert done.stderr.strip().count("\n") == 0
    assert "No space left" in done.stderr


@pytest.mark.skipif(os.name != "posix", reason="a POSIX shell")
@pytest.mark.parametrize("line", ["word ship >&-", "sheet - -f txt -o - <&-"])
def test_closed_streams(line: str) -> None:
    done = start(line)
    assert done.returncode == 2
    assert done.stderr.startswith("drillgen: standard ")
    assert done.stderr.strip().count("\n") == 0


@pytest.mark.skipif(os.name != "posix", reason="signals")
def test_ctrl_c_while_it_loads() -> None:
    for wait in (0.25, 0.6, 1.0):
        process = subprocess.Popen(
            [sys.executable, "-m", "drillgen", "sheet", "-", "-o", "-", "-f", "txt"],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        time.sleep(wait)
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=60)
        assert process.returncode in (130, -signal.SIGINT), errors
        assert "Traceback" not in errors


def test_the_pages_of_a_long_pdf_are_told(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "a.txt").write_text("Two boats met on the quay, and then it rained all night. " * 60)
    assert run(["sheet", "a.txt", "-o", "a.pdf"]) == 0
    pages = len(pypdf.PdfReader(here / "a.pdf").pages)
    assert pages >= 10
    assert capsys.readouterr().err == f"wrote a.pdf ({pages} pages)\n"
