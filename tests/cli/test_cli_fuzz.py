"""A small part of `tools/fuzz.py`: random misuse of every face, and one fault of each kind.

The long run is `python tools/fuzz.py` (100,000 cases).
"""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import faults
import fuzz
import pytest

from drillgen.cli import GROUPS, TOPICS

CASES: Final = 120
SEED: Final = 13
LEFT_OUT: Final = {"serve", "doctor", "voice", "check", "week"}
"""A server, no arguments, or too slow for random runs."""


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own" / "words.txt"))
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    yield
    os.chdir(tmp_path)


@pytest.mark.parametrize("part", range(4))
def test_misuse_gets_one_line(part: int) -> None:
    assert fuzz.misuse(CASES // 4, SEED + part) == []


def test_every_command_is_misused() -> None:
    names = {name for commands in TOPICS.values() for name in commands} - set(GROUPS)
    names |= {f"{group} {name}" for group, (_, table) in GROUPS.items() for name in table}
    assert {*fuzz.COMMANDS} == names - LEFT_OUT


def test_the_same_seed_gives_the_same_cases() -> None:
    def cases(seed: int) -> list[list[str]]:
        return [fuzz.make_command(random.Random(f"{seed}/{n}")) for n in range(20)]

    assert cases(1) == cases(1)
    assert cases(1) != cases(2)


def test_the_check_sees_what_is_wrong(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A traceback, a wrong code, silence, a changed input, a part left behind, nothing in it."""
    fuzz.lay_out_folder(tmp_path)

    def check(does: Callable[[], int]) -> str:
        monkeypatch.setattr(fuzz, "run", lambda _: does())
        return fuzz.check_case(["sheet"], tmp_path)

    def overwrite() -> int:
        (tmp_path / "t.txt").write_bytes(b"")
        return 0

    def leave() -> int:
        (tmp_path / "t.txt").write_bytes(fuzz.FILES["t.txt"])
        (tmp_path / ".drillgen-1-x.part").touch()
        return 0

    def leave_nothing() -> int:
        (tmp_path / ".drillgen-1-x.part").rename(tmp_path / "a.md")
        return 0

    assert "ZeroDivisionError" in check(lambda: 1 // 0)
    assert "exit code 3" in check(lambda: 3)
    assert "without a reason" in check(lambda: 2)
    assert "was changed" in check(overwrite)
    assert "left behind" in check(leave)
    assert "is empty" in check(leave_nothing)


def test_texts_and_requests_are_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    def check_all(check: Callable[[random.Random], str]) -> set[str]:
        return {check(random.Random(n)) for n in range(40)}

    class Broken:
        status_code, headers, text = 500, {"content-type": "text/html"}, "no"

        def ask(self, *_: object, **__: object) -> Broken:
            return self

    broken: Any = Broken()
    assert "" not in check_all(lambda dice: fuzz.check_request(dice, broken))
    monkeypatch.setattr(fuzz, "render", lambda *_: 1 // 0)
    assert all("ZeroDivisionError" in problem for problem in check_all(fuzz.check_text))


@pytest.mark.skipif(sys.platform == "win32", reason="signals and /dev/full")
@pytest.mark.parametrize("fault", faults.FAULTS, ids=lambda fault: fault.__name__)
def test_a_fault_loses_nothing(
    fault: Callable[[Path, random.Random], str], tmp_path: Path
) -> None:
    (tmp_path / "t.txt").write_bytes(fuzz.FILES["t.txt"])
    assert fault(tmp_path, random.Random(SEED)) == ""
