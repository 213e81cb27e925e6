"""Where clauses end: a table of texts with every kind of mark, space and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.values import Boundary
from drillgen.speech.text.clauses import count_lines, split_clauses
from drillgen.speech.text.tokens import tokenize

DATA = Path(__file__).parent / "data" / "clauses.tsv"
ESCAPES = {"\\n": "\n", "\\r": "\r", "\\f": "\f", "\\u0085": "\x85", "\\uf0b7": "\uf0b7"}
SIGNS = {Boundary.MAJOR: "‖", Boundary.MINOR: "|", Boundary.NONE: "~"}


def read_rows() -> list[tuple[str, str, str]]:
    text = DATA.read_text(encoding="utf-8")
    rows = [line for line in text.split("\n") if line and not line.startswith("#")]
    for escape, character in ESCAPES.items():
        rows = [row.replace(escape, character) for row in rows]
    return [(label, text, expected) for label, text, expected in (r.split("\t") for r in rows)]


def show(text: str) -> str:
    tokens, start, shown = tokenize(text), 0, []
    for clause in split_clauses(tokens):
        begins = "" if clause.sentence == start else "+"
        words = "".join(token.text for token in tokens[start : clause.end])
        after = "¶" * clause.paragraph + "↵" * clause.line
        shown.append(f"{begins}{words}{SIGNS[clause.boundary]}{clause.marks}{after}")
        start = clause.end
    assert start == len(tokens)
    return " ⁞ ".join(shown)


@pytest.mark.parametrize(("label", "text", "expected"), read_rows(), ids=lambda value: value[:40])
def test_clauses(label: str, text: str, expected: str) -> None:
    assert show(text) == expected, label


def test_no_tokens_no_clauses() -> None:
    assert split_clauses(()) == ()


def test_many_marks_are_read_once() -> None:
    """A run of closing marks is not gone through again from each of them."""
    marks = "?" * 50 + "…" * 50 + "!" * 50
    assert show(f"We row{marks} Go") == f"We row{marks} ‖{marks} ⁞ Go‖"


def test_lines_are_counted() -> None:
    assert [count_lines(s) for s in (" ", "\n", "\r\n", "\n \n", "\u2029", "\u2028", "\v\f")] == [
        *(0, 1, 1, 2, 2, 1, 2)
    ]
