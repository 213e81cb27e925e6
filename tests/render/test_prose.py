"""Sentences for a client stand in drillgen/data/wording.toml and nowhere else.

Looks through the modules and templates that make sheets and pages for literals that read like
prose: two words in a row, or a capitalised word. Docstrings, messages of errors and comments
are for others and pass.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import drillgen
from drillgen.core.resources import resource_folder

PACKAGE = Path(drillgen.__file__).parent
TEMPLATES = resource_folder("templates")
MODULES = sorted(
    path
    for room in ("sheets", "write", "practice", "web/view.py", "core/document.py")
    for path in ([PACKAGE / room] if room.endswith(".py") else (PACKAGE / room).glob("*.py"))
)
LAYOUTS = sorted(
    path
    for room in ("page", "typst", "html")
    for path in (TEMPLATES / room).rglob("*")
    if path.suffix in (".j2", ".js", ".typ")
)

PROSE = re.compile(r"[^\W\d_]{2,}[,;:]? [^\W\d_]{2,}|^[A-Z][a-z]+[.:]?$")

ALLOWED = {
    "fonts": r"Source Sans Pro|SourceSansPro-\w+|DejaVu Sans Mono|Page Text|^Regular$|^Bold$",
    "file formats": r"-//Reading practice//Plan//EN|^PDF$|US-ASCII",
    "units": r"Hz",
    "code": r"use strict|const WORKLET_SOURCE|(?:default|script|style|font|media)-src",
    "Unicode": r"^(?:Cf|Cc|Co|Cn|Me|So|Sk)$",
    "keys": r"^Escape$|^Arrow(?:Left|Right)$|^Float32Array$",
    "figures": r"^(?:</text>|</?svg|<polyline|<circle).*|.* class=.*",
    "regular expressions": r".*\(\\d\+\)",
    "comments in files of the user": r"^# What drillgen knows of one client(?s:.*)",
    "messages to the operator": r" is there |^none yet$|^file name$|^value of $"
    r"|^, extra field$|the PDF can't show"
    r"| and draws a frame",
}


def reads_like_prose(text: str) -> bool:
    bare = re.sub("|".join(ALLOWED.values()), "", text).strip()
    return PROSE.search(bare) is not None


def literals(source: str) -> Iterator[tuple[int, str]]:
    """Line and text of each string in Python code that may be printed."""
    tree = ast.parse(source)
    passed: set[ast.AST] = set()
    for node in ast.walk(tree):
        called = node.func if isinstance(node, ast.Call) else None
        name = getattr(called, "attr", getattr(called, "id", ""))
        is_docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        is_enum = isinstance(node, ast.ClassDef) and "StrEnum" in map(ast.unparse, node.bases)
        is_error = isinstance(node, ast.Raise) or re.fullmatch(r"\w*Error|fail|at", name)
        is_message = isinstance(node, ast.Assign) and any(
            getattr(target, "id", "") in ("mend", "problem", "what") for target in node.targets
        )
        if is_docstring or is_enum or is_error or is_message:
            passed.update(ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in passed:
            yield node.lineno, node.value


def layout_texts(path: Path) -> Iterator[str]:
    """What a template prints by itself."""
    source = path.read_text(encoding="utf-8")
    if path.suffix == ".j2":
        source = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", "", source, flags=re.DOTALL)
        for name, text in re.findall(r'([\w-]+)="([^"]*)"', source):
            if name in ("alt", "aria-label", "title", "placeholder", "value"):
                yield text
        yield from re.sub(r"<[^>]*>", "\n", source).splitlines()
        return
    code = re.sub(r"(?m)(^|\s)//.*$", "", source)
    # Selectors and media queries of a script.
    code = re.sub(r'(all|querySelector|closest|matchMedia)\("[^"]*"', "", code)
    code = re.sub(r"\$\{[^}]*\}", "", code)
    for pair in re.findall(r'"([^"\n]*)"|`([^`]*)`', code):
        yield from pair
    if path.suffix == ".typ":
        yield from re.findall(r"\[([^\]\n]*)\]", code)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_no_module_prints_prose(path: Path) -> None:
    found = [
        (line, text)
        for line, text in literals(path.read_text(encoding="utf-8"))
        if reads_like_prose(text)
    ]
    assert found == []


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.relative_to(TEMPLATES).as_posix())
def test_no_template_prints_prose(path: Path) -> None:
    assert [text for text in layout_texts(path) if reads_like_prose(text)] == []


@pytest.mark.parametrize(
    "code",
    ['x = "Take care"', 'f(f"{n} boxes to tick")', 'return {"a": "Steady"}', 'y = "please wait"'],
)
def test_the_scan_finds_prose(code: str) -> None:
    body = f"def g():\n    {code}"
    assert any(reads_like_prose(text) for _, text in literals(body))
    silent = 'def g():\n    """Take care."""\n    raise InputError("no file there")'
    assert not any(reads_like_prose(text) for _, text in literals(silent))
