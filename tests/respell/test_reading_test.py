"""The sheets of the reading test print what drillgen prints today, each way once."""

from __future__ import annotations

import importlib
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drillgen.speech.pipeline import Engine, make_drill

TOOLS = Path(__file__).resolve().parents[2] / "tools"


@pytest.fixture(scope="module")
def maker() -> Iterator[Any]:
    sys.path.insert(0, str(TOOLS))
    try:
        yield importlib.import_module("make_reading_test")
    finally:
        sys.path.remove(str(TOOLS))


def test_the_first_way_is_what_is_printed(maker: Any) -> None:
    engine = Engine.load()
    for item in maker.read_items():
        (line,) = make_drill(item.word, engine=engine).versions[0].lines
        assert [cell.text for cell in line.cells if cell] == [item.first], item


def test_forms_share_the_words_and_part_the_ways(maker: Any) -> None:
    items = maker.read_items()
    forms = [dict(maker.choose_prints(items, form)) for form in (0, 1)]
    assert all({forms[0][i], forms[1][i]} == {i.first, i.second} for i in items)
    # Each form has both ways of every question.
    for form in forms:
        ways = Counter((i.question, form[i] == i.first) for i in items)
        assert min(ways.values()) >= 2
        assert len(ways) == 2 * len({i.question for i in items})


def test_pages_are_made(maker: Any) -> None:
    items = maker.read_items()
    for form in (0, 1):
        for document in (maker.make_form(items, form), maker.make_score(items, form)):
            assert maker.render(document, maker.Format.PDF)[:4] == b"%PDF"
