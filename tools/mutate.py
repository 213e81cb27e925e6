"""Change the code of a room in small ways, a sample of them, and see whether its tests notice.

Usage: python tools/mutate.py [--count 60] [--seed 13] [--children 1] [--keep FOLDER] ROOM …
       (needs `pip install mutmut`; rooms: see ROOMS; --quick: no second try, a lower bound)

mutmut makes the changes and runs those tests of the room that come through the changed function.
It does so in forks of one process, where what was kept in memory before hides some changes: each
that passes is tried once more, alone, in a new process, with all tests of the room. Prints what
passes even so, each as a diff, and the share noticed.
The same seed and the same code give the same sample. A change that no test ends (a loop without
end) counts as noticed.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

ROOT: Final = Path(__file__).parents[1]
COPIED: Final = ("drillgen", "templates", "corpora", "tests", "tools", "docs", "pyproject.toml")


class Room(NamedTuple):
    """What is changed, and the tests that must notice."""

    sources: tuple[str, ...]
    """Patterns of paths."""
    tests: tuple[str, ...]
    slow: str = ""
    """Tests for what the others don't notice only (names, as pytest's -k takes them)."""


ROOMS: Final[Mapping[str, Room]] = {
    "guard": Room(
        ("drillgen/web/guard.py",),
        ("tests/web/test_web_guard_alone.py", "drillgen/web/guard.py"),
    ),
    "pronounce": Room(
        ("drillgen/speech/pronounce/*.py",),
        ("tests/pronounce", "tests/pipeline", "drillgen/speech/pronounce"),
    ),
    "respell": Room(
        ("drillgen/speech/respell/*.py",),
        ("tests/respell", "drillgen/speech/respell"),
        "entries or entry or readback or units_of or ambiguous or examples or rows_say or outside",
    ),
    "swap": Room(("drillgen/speech/swap/*.py",), ("tests/swap", "drillgen/speech/swap")),
    "text": Room(("drillgen/speech/text/*.py",), ("tests/text", "drillgen/speech/text")),
}

NOTICED: Final = frozenset((1, 3, 24, -24, 36, 152, 255, -9, -11))
"""mutmut's exit codes of tests that fail, break off or don't end."""
LONG: Final = 600
"""Seconds after which a lone run counts as one that doesn't end."""


def copy_project(folder: Path, room: Room) -> None:
    """A copy of the project that is set up for one room."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
    before, _, after = (ROOT / "pyproject.toml").read_text("utf-8").partition("[tool.mutmut]\n")
    settings = {
        "source_paths": ["drillgen"],
        "only_mutate": [*room.sources],
        "also_copy": [*COPIED],
        "pytest_add_cli_args": [
            *("-p", "no:cacheprovider", "-m", "not browser"),
            *(("-k", f"not ({room.slow})") if room.slow else ()),
        ],
        "pytest_add_cli_args_test_selection": [*room.tests],
        "use_git_change_detection": False,
        # A change that makes a test wait for ever is found by the clock.
        "timeout_multiplier": 2.0,
        "timeout_constant": 8.0,
    }
    lines = "".join(f"{key} = {json.dumps(value)}\n" for key, value in settings.items())
    _, _, rest = after.partition("\n[")
    changed = f"{before}[tool.mutmut]\n{lines}\n[{rest}"
    (folder / "pyproject.toml").write_text(changed, "utf-8")


def draw_sample(room: Room, count: int, seed: int) -> tuple[list[str], int]:
    """Names of changes, and how many there are in all."""
    from mutmut.mutation.file_mutation import mutate_file_contents
    from mutmut.utils.format_utils import get_mutant_name

    names = []
    for pattern in room.sources:
        for path in sorted(ROOT.glob(pattern)):
            relative = path.relative_to(ROOT)
            made = mutate_file_contents(str(relative), path.read_text("utf-8"))
            names += [get_mutant_name(relative, name) for name in made.mutant_names]
    sample = random.Random(seed).sample(names, min(count, len(names)))
    return sorted(sample), len(names)


def read_codes(folder: Path) -> dict[str, int | None]:
    """Name → exit code of its tests."""
    codes: dict[str, int | None] = {}
    for path in (folder / "mutants").rglob("*.meta"):
        codes |= json.loads(path.read_text("utf-8"))["exit_code_by_key"]
    return codes


def try_alone(folder: Path, name: str, room: Room) -> bool:
    """Whether the tests notice a change in a process of its own."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
    try:
        done = subprocess.run(
            [*command, "-m", "not browser", *room.tests],
            cwd=folder / "mutants",
            env={**os.environ, "MUTANT_UNDER_TEST": name},
            capture_output=True,
            timeout=LONG,
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def measure_room(name: str, folder: Path, options: argparse.Namespace) -> float:
    """Try a sample of the changes of a room, and print what isn't noticed."""
    room = ROOMS[name]
    sample, total = draw_sample(room, options.count, options.seed)
    copy_project(folder, room)
    mutmut = [sys.executable, "-c", "from mutmut.__main__ import cli; cli()"]
    children = str(options.children)
    with (folder / "log.txt").open("wb") as log:
        command = [*mutmut, "run", "--max-children", children, *sample]
        done = subprocess.run(command, cwd=folder, stdout=log, stderr=log)
    if done.returncode:
        raise SystemExit((folder / "log.txt").read_text("utf-8", "replace")[-2000:])
    codes = read_codes(folder)
    passed = [change for change in sample if codes[change] not in NOTICED]
    kept = [c for c in passed if options.quick or not try_alone(folder, c, room)]
    for change in kept:
        shown = subprocess.run(
            [*mutmut, "show", change], cwd=folder, capture_output=True, text=True
        )
        print(shown.stdout, flush=True)
    noticed = len(sample) - len(kept)
    print(
        f"{name}: {noticed} of {len(sample)} noticed ({noticed / len(sample):.2f}), "
        f"drawn from {total}, seed {options.seed}",
        flush=True,
    )
    return noticed / len(sample)


def list_rooms(names: Sequence[str]) -> list[str]:
    """The rooms named, all without a name."""
    unknown = [name for name in names if name not in ROOMS]
    if unknown:
        raise SystemExit(f"no room {', '.join(unknown)}; there are {', '.join(ROOMS)}")
    return [*(names or ROOMS)]


def main() -> int:
    """Measure rooms one after the other."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", nargs="*", metavar="ROOM")
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=13)
    parser.add_argument("--children", type=int, default=1, help="processes at once")
    parser.add_argument("--quick", action="store_true", help="no second try: a lower bound")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="where the copies stay")
    parser.add_argument("--least", type=float, default=0.85, help="exit code 1 below this share")
    options = parser.parse_args()
    low = False
    for name in list_rooms(options.rooms):
        with tempfile.TemporaryDirectory() as spare:
            folder = (options.keep or Path(spare)) / name
            folder.mkdir(parents=True)
            low |= measure_room(name, folder, options) < options.least
    return int(low)


if __name__ == "__main__":
    sys.exit(main())
