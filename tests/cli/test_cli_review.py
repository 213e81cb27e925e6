"""Words settled one by one on a terminal (a real one, of the system's)."""

from __future__ import annotations

import os
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

pty = pytest.importorskip("pty", reason="a POSIX terminal")


def talk(arguments: list[str], answers: list[str], home: Path) -> str:
    """What stands on the terminal after each question was answered in turn."""
    ours, theirs = pty.openpty()
    child = subprocess.Popen(
        [sys.executable, "-m", "drillgen", *arguments],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "DRILLGEN_WORDS": str(home / "words.txt"), "TERM": "dumb"},
    )
    os.close(theirs)
    said, at, due = "", 0, time.monotonic() + 60
    try:
        while time.monotonic() < due:
            if not select.select([ours], [], [], 0.2)[0]:
                continue
            try:
                new = os.read(ours, 4096).decode()
            except OSError:  # The program has ended.
                break
            if not new:
                break
            said += new
            if answers and said[at:].endswith(": "):
                at = len(said)
                os.write(ours, f"{answers.pop(0)}\n".encode())
    finally:
        os.close(ours)
        child.kill()
        child.wait()
    return said.replace("\r", "")


def test_a_sound_alike_may_be_typed_at_once(tmp_path: Path) -> None:
    answers = ["what", "9", "[x", "kway-GUL", "1"]
    said = talk(["review", "--all", "--text", "Quaighle met Oyelaran."], answers, tmp_path)
    # What is no answer is said, not asked again in silence.
    assert said.count("o, s, q, or how it sounds") == 2
    assert "the IPA isn't closed" in said
    assert "[2/2] oyelaran" in said
    words = (tmp_path / "words.txt").read_text(encoding="utf-8").splitlines()
    assert words[0] == "quaighle  K W EY0 G AH1 L"
    assert words[1].startswith("oyelaran  ")
