"""Products in pieces, against numpy's in one; and no threads, counted by the processor's time."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from drillgen.core.matrices import TILE_WORK, multiply


@pytest.mark.parametrize(
    ("rows", "size", "out"), [(0, 48, 80), (1, 48, 80), (68, 48, 80), (69, 48, 80), (900, 80, 216)]
)
def test_pieces_are_the_whole(rows: int, size: int, out: int) -> None:
    numbers = np.random.default_rng(7)
    x = numbers.standard_normal((rows, size), np.float32)
    weight = numbers.standard_normal((size, out), np.float32)
    assert np.allclose(multiply(x, weight), x @ weight, atol=1e-4)


def test_a_row_larger_than_a_piece() -> None:
    x = np.ones((3, TILE_WORK // 4), np.float32)
    weight = np.ones((TILE_WORK // 4, 8), np.float32)
    assert (multiply(x, weight) == TILE_WORK // 4).all()


THREADS = """
import time, threading
from drillgen import make_drill
make_drill("Two boats lie at the quay.")
text = "We met at the quay and talked about the weather for a while. " * 200
started, own = time.process_time(), time.thread_time()
make_drill(text)
print(time.process_time() - started, time.thread_time() - own)
"""


def test_a_drill_has_no_other_thread_at_work() -> None:
    """The process needs no more time than its one thread: nothing spins on another core."""
    done = subprocess.run(
        [sys.executable, "-c", THREADS],
        env={"PATH": "", "OPENBLAS_NUM_THREADS": "4"},
        capture_output=True,
        text=True,
        check=True,
    )
    whole, own = map(float, done.stdout.split())
    assert whole - own < 0.005
