"""Change the code of a room in small ways, a sample of them, and see whether its tests notice.

Usage: python tools/mutate.py [--count 60] [--seed 13] [--only FILE] ROOM …
       (needs `pip install mutmut`; rooms: see ROOMS)

mutmut makes the changes. Each is put into a copy of the project, alone, and the tests of the room
run there until one fails, those named like the changed module and the room's quickest first: in a
process of its own that has loaded nothing of drillgen before. Prints what no test notices, each as
a diff, and the share noticed with its interval (Wilson 1927, 95 %). `--only` tries the changes
named in a file, one a line, as this prints them.
The same seed and the same code give the same sample. A change with which the tests use the
processor for more than `LONG` times as long as without it (a loop without end) counts as noticed.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import difflib
import importlib
import math
import os
import random
import re
import resource
import shutil
import sys
import tempfile
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

ROOT: Final = Path(__file__).parents[1]
COPIED: Final = (
    "drillgen",
    "templates",
    "corpora",
    "tests",
    "tools",
    "docs",
    "bench",
    "pyproject.toml",
)
LOADED: Final = ("pytest", "numpy", "typer", "nltk", "num2words", "msgspec")
"""Libraries that each process has from the start."""
LONG: Final = 3
"""Times as much of the processor as without a change."""


class Room(NamedTuple):
    """What is changed, and the tests that must notice."""

    sources: str
    """Pattern of paths."""
    tests: tuple[str, ...]
    first: tuple[str, ...] = ()
    """Tests that are quick and notice most: they run before the others are so much as read."""

    slow: str = ""
    """Tests that are left out (names, as pytest's -k takes them)."""


class Change(NamedTuple):
    """A function that is changed in one place."""

    path: str
    name: str
    """As mutmut gives it: of a method with its class."""
    before: str
    after: str
    """The function."""
    module: str
    """The whole module with the change."""

    @property
    def key(self) -> str:
        """Names it."""
        return f"{self.path}:{self.name}"

    @property
    def diff(self) -> str:
        """What is changed."""
        lines = difflib.unified_diff(
            self.before.splitlines(), self.after.splitlines(), n=0, lineterm=""
        )
        return "\n".join(line for line in lines if line[:3] not in ("---", "+++"))


ROOMS: Final[Mapping[str, Room]] = {
    "guard": Room(
        "drillgen/web/guard.py", ("tests/web/test_web_guard_alone.py", "drillgen/web/guard.py")
    ),
    "pronounce": Room(
        "drillgen/speech/pronounce/*.py",
        ("tests/pronounce", "drillgen/speech/pronounce", "tests/pipeline"),
        slow="rival_is or agreement or no_family or comes_back or every_mnemonic or every_rule or "
        "threads or warm_engine",
    ),
    "respell": Room(
        "drillgen/speech/respell/*.py",
        ("tests/respell", "drillgen/speech/respell"),
        slow="readback or outside or other_targets or non_rhotic",
    ),
    "swap": Room("drillgen/speech/swap/*.py", ("tests/swap", "drillgen/speech/swap")),
    "text": Room(
        "drillgen/speech/text/*.py",
        ("tests/text", "drillgen/speech/text", "tests/prosody/test_phrases.py"),
        ("tests/text/test_rules.py",),
    ),
}


def copy_project(folder: Path) -> None:
    """A copy of the project, compiled."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
    compileall.compile_dir(folder / "drillgen", quiet=1)


def make_changes(path: Path, code: str, wanted: Sequence[str]) -> Iterator[Change]:
    """The changes of a module that have these names, out of what mutmut made of it."""
    source = path.read_text("utf-8")
    for name in wanted:
        tree = ast.parse(source)
        node, changed = _find_function(tree, name), _cut_function(code, name)
        before = ast.unparse(node)
        node.args, node.body = changed.args, changed.body
        relative = str(path.relative_to(ROOT))
        yield Change(relative, name, before, ast.unparse(node), ast.unparse(tree))


Function = ast.FunctionDef | ast.AsyncFunctionDef


def _cut_function(code: str, name: str) -> Function:
    """A function of what mutmut made of a module: the whole, with thousands of them, takes a
    minute to parse."""
    start = code.rfind("\n", 0, code.index(f"def {name}(")) + 1
    indent = len(code) - start - len(code[start:].lstrip(" "))
    after = re.compile(rf"^ {{0,{indent}}}[^\s)]", re.MULTILINE).search(
        code, code.index("\n", start)
    )
    end = after.start() if after else len(code)
    (node,) = ast.parse(textwrap.dedent(code[start:end])).body
    assert isinstance(node, Function)
    return node


def _find_function(tree: ast.Module, name: str) -> Function:
    """The function that a change is named after: x_word__mutmut_3, xǁClassǁmethod__mutmut_3."""
    words = name.rpartition("__mutmut_")[0].removeprefix("x").split("ǁ")
    within: ast.Module | ast.ClassDef = tree
    if len(words) > 1:
        classes = (node for node in tree.body if isinstance(node, ast.ClassDef))
        within = next(node for node in classes if node.name == words[1])
    wanted = words[-1] if len(words) > 1 else words[0].removeprefix("_")
    functions = (node for node in within.body if isinstance(node, Function))
    return next(node for node in functions if node.name == wanted)


def draw_sample(
    room: Room, count: int, seed: int, wanted: Sequence[str] = ()
) -> tuple[list[Change], int]:
    """Changes, those that are wanted if any are, and how many there are in all."""
    from mutmut.mutation.file_mutation import mutate_file_contents

    made = {
        path: mutate_file_contents(str(path), path.read_text("utf-8"))
        for path in sorted(ROOT.glob(room.sources))
    }
    every = [(path, name) for path, file in made.items() for name in file.mutant_names]
    sample = random.Random(seed).sample(every, min(count, len(every)))
    if wanted:
        sample = [(p, name) for p, name in every if f"{p.relative_to(ROOT)}:{name}" in wanted]
    drawn = {path: [name for p, name in sample if p == path] for path, _ in sample}
    changes = {
        (path, change.name): change
        for path, names in drawn.items()
        for change in make_changes(path, made[path].code, names)
    }
    # In the order of the draw: a run that is broken off has tried a sample, too.
    return [changes[one] for one in sample], len(every)


def order_tests(room: Room, path: str) -> tuple[list[str], list[str]]:
    """The module's own tests and the quick ones of its room; all of the room."""
    stem = Path(path).stem
    own = [str(p.relative_to(ROOT)) for p in ROOT.glob(f"tests/*/test_{stem}*.py")]
    own = [name for name in own if name.startswith(room.tests)]
    return [*room.first, *own, path], list(room.tests)


def notices(
    folder: Path, room: Room, change: Change, number: int, limit: int
) -> tuple[bool, float]:
    """Whether a test fails with a change in a copy of the project, and what the processor spent
    on it; at most `limit` seconds (0: any)."""
    file = folder / change.path
    before, times = file.read_bytes(), file.stat()
    file.write_text(change.module, "utf-8")
    # Told from what is compiled by its time.
    os.utime(file, (times.st_atime, times.st_mtime + 10 + number))
    try:
        child = os.fork()
        if not child:
            code = 1
            try:
                code = _run_tests(folder, room, change.path, limit)
            finally:
                os._exit(code)
        _, status, spent = os.wait4(child, 0)
        return os.waitstatus_to_exitcode(status) != 0, spent.ru_utime + spent.ru_stime
    finally:
        file.write_bytes(before)
        os.utime(file, (times.st_atime, times.st_mtime))


def _run_tests(folder: Path, room: Room, path: str, limit: int) -> int:
    import pytest

    if limit:
        resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 1))
    os.chdir(folder)
    sys.path[:0] = [str(folder)]
    sys.dont_write_bytecode = True
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    arguments = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-m", "not browser"]
    arguments += ["-k", f"not ({room.slow})"] if room.slow else []
    codes = (int(pytest.main([*arguments, *names])) for names in order_tests(room, path))
    # 5: no test there, of a module without any of its own.
    return next((code for code in codes if code not in (0, 5)), 0)


def find_interval(noticed: int, tried: int) -> tuple[float, float]:
    """The share of all changes that are noticed, at 95 % (Wilson 1927, from memory).

    >>> low, high = find_interval(90, 100)
    >>> print(f"{low:.2f} {high:.2f}")
    0.83 0.94
    """
    z, share = 1.96, noticed / tried
    middle = share + z * z / (2 * tried)
    half = z * math.sqrt((share * (1 - share) + z * z / (4 * tried)) / tried)
    whole = 1 + z * z / tried
    return (middle - half) / whole, (middle + half) / whole


def measure_room(name: str, options: argparse.Namespace) -> float:
    """Try a sample of the changes of a room, and print what isn't noticed."""
    room = ROOMS[name]
    wanted = options.only.read_text("utf-8").split() if options.only else ()
    sample, total = draw_sample(room, options.count, options.seed, wanted)
    with tempfile.TemporaryDirectory() as copy:
        folder = Path(copy)
        copy_project(folder)
        unchanged = Change(sample[0].path, "", "", "", (ROOT / sample[0].path).read_text("utf-8"))
        fails, seconds = notices(folder, room, unchanged, 0, 0)
        if fails:
            raise SystemExit(f"{name}: the tests fail without a change")
        limit = math.ceil(LONG * seconds) + 10
        passed = 0
        for number, change in enumerate(sample, 1):
            if not notices(folder, room, change, number, limit)[0]:
                passed += 1
                print(f"{change.key}\n{change.diff}", flush=True)
            print(f"{number} of {len(sample)}, {passed} passed", file=sys.stderr, flush=True)
    noticed = len(sample) - passed
    low, high = find_interval(noticed, len(sample))
    print(
        f"{name}: {noticed} of {len(sample)} noticed ({noticed / len(sample):.2f}, "
        f"{low:.2f} to {high:.2f}), drawn from {total}, seed {options.seed}",
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
    parser.add_argument("--only", type=Path, metavar="FILE", help="a list of changes")
    parser.add_argument("--least", type=float, default=0.85, help="exit code 1 below this share")
    options = parser.parse_args()
    for library in LOADED:
        importlib.import_module(library)
    shares = [measure_room(name, options) for name in list_rooms(options.rooms)]
    return int(min(shares) < options.least)


if __name__ == "__main__":
    sys.exit(main())
