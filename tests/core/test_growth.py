"""Twice the text, twice the lines of our own code that run: bench/growth.py measures it in seconds
and for all shapes; this notices loops within loops at once."""

from __future__ import annotations

import sys
from types import FrameType
from typing import Any

import pytest

from drillgen.speech.pipeline import Engine, make_drill

SHAPES = {
    "letters without a mark": "# a\n",
    "one line": "boat on the quay and ",
    "one word": "ba",
    "numbers": "1984 ",
    "hyphens between": "a-",
    "names": "Mr. Vrantzel ",
    "commas": "boat, ",
}


def count_lines(text: str, engine: Engine) -> int:
    """How many lines of drillgen run for a drill of a text."""
    lines = 0

    def trace(frame: FrameType, event: str, _argument: Any) -> Any:
        nonlocal lines
        if "drillgen" not in frame.f_code.co_filename:
            return None
        lines += event == "line"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        make_drill(text, engine=engine)
    finally:
        sys.settrace(before)
    return lines


@pytest.mark.parametrize("piece", SHAPES.values(), ids=SHAPES)
def test_work_grows_with_the_text(piece: str) -> None:
    engine = Engine.load()
    count_lines(piece * 3, engine.adapt())
    one, two = (count_lines((piece * length)[:length], engine.adapt()) for length in (1500, 3000))
    assert two < 2.5 * one
