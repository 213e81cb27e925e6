"""Functions stay small enough to be read in one go, or say why they are not."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import drillgen

PACKAGE = Path(drillgen.__file__).parent
MAX_LINES = 60
MAX_BRANCHES = 20

_BRANCHES = (
    ast.If,
    ast.IfExp,
    ast.For,
    ast.While,
    ast.ExceptHandler,
    ast.With,
    ast.Assert,
    ast.comprehension,
    ast.match_case,
)


def iter_functions(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def count_branches(function: ast.AST) -> int:
    """Cyclomatic complexity (McCabe 1976) but for the operators `and` and `or`."""
    return 1 + sum(isinstance(node, _BRANCHES) for node in ast.walk(function))


def count_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of the body without the docstring: a command's options are no work."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (function.end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_long_functions_give_a_reason() -> None:
    long = [
        f"{path.relative_to(PACKAGE)}: {function.name} is long; say why"
        for path in sorted(PACKAGE.rglob("*.py"))
        for function in iter_functions(path)
        if (count_lines(function) > MAX_LINES or count_branches(function) > MAX_BRANCHES)
        and "because" not in (ast.get_docstring(function) or "")
    ]
    assert not long
