"""Imports point one way: faces → pipeline → rooms → low-level modules → model."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import drillgen

PACKAGE = Path(drillgen.__file__).parent
ROOMS = {"text", "pronounce", "swap", "respell", "align", "prompts", "practice", "render", "audio"}
LOW = {
    "phones",
    "syllables",
    "formants",
    "pitch",
    "options",
    "resources",
    "errors",
    "model",
    "wording",
}
FACES = {"cli", "web", "__main__", "__init__"}
MODULES = sorted(PACKAGE.rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    """First part below drillgen of everything of ours that a module imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: write absolute imports"
            names = [node.module]
            if node.module == "drillgen":
                names = [f"drillgen.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "drillgen" and len(parts) > 1:
                yield parts[1]


def room_of(path: Path) -> str:
    """The room or module that a file belongs to."""
    relative = path.relative_to(PACKAGE)
    return relative.parts[0].removesuffix(".py")


def test_there_are_modules() -> None:
    assert len(MODULES) > 20
    assert {room_of(path) for path in MODULES} >= ROOMS - {"audio"}


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_point_one_way(path: Path) -> None:
    room = room_of(path)
    used = set(imported(path))
    if room == "model":
        assert not used
    elif room == "errors":
        assert used <= {"model"}
    elif room in LOW:
        assert used <= LOW
    elif room in ROOMS:
        assert used <= LOW | {room}, f"{room} may not import {used - LOW - {room}}"
    elif room not in FACES:
        assert not used & FACES, f"{room} is below the faces"
