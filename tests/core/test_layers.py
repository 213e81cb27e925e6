"""Imports point one way: faces → sheets → corpus → speech → core; write sees only core.

The table below is the whole rule: what each room may import besides itself. Inside
`speech` the steps never import each other; only the modules at its top see them all.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

import drillgen

PACKAGE = Path(drillgen.__file__).parent

ROOMS: Final = {
    "core": set[str](),
    "speech": {"core"},
    "corpus": {"core", "speech"},
    "practice": {"core", "speech"},
    "sound": {"core", "speech"},
    "write": {"core"},
    "sheets": {"core", "speech", "corpus", "practice"},
    "cli": {"core", "speech", "corpus", "practice", "write", "sheets", "sound", "web"},
    "web": {"core", "speech", "corpus", "practice", "write", "sheets", "sound"},
}
"""Room → the rooms that it may import."""

STEPS: Final = {"text", "pronounce", "prosody", "swap", "respell", "align"}
"""The steps of `speech`: none imports another."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def imported(path: Path) -> Iterator[tuple[str, ...]]:
    """Module names below drillgen, in parts, of everything of ours that a module imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: write absolute imports"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            first, *parts = name.split(".")
            if first == "drillgen" and parts:
                yield tuple(parts)


def place_of(path: Path) -> tuple[str, ...]:
    """The path below the package, without the ending, in parts."""
    return path.relative_to(PACKAGE).with_suffix("").parts


def test_every_room_is_named_and_holds_something() -> None:
    assert {place_of(path)[0] for path in MODULES} == {*(*ROOMS, "__init__", "__main__", "public")}
    for room in (*ROOMS, *(f"speech/{step}" for step in STEPS)):
        modules = list((PACKAGE / room).glob("*.py"))
        assert len(modules) > 1, f"{room} is empty"
        first = ast.get_docstring(ast.parse((PACKAGE / room / "__init__.py").read_text("utf-8")))
        assert first, f"{room} does not say what it is for"


@pytest.mark.parametrize("room", ROOMS)
def test_imports_point_one_way(room: str) -> None:
    modules = [path for path in MODULES if place_of(path)[0] == room]
    assert modules
    for path in modules:
        _, *rest = place_of(path)
        for parts in imported(path):
            what = f"{path.relative_to(PACKAGE)} may not import {'.'.join(parts)}"
            assert parts[0] in ROOMS[room] | {room}, what
            if room == "speech" and rest[0] in STEPS and parts[0] == "speech":
                assert parts[1] == rest[0], what
