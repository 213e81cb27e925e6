"""Work for the processes of test_web_worker.py, which must be able to import it."""

from __future__ import annotations

import os
import time

from drillgen.web.workshop import Workshop


def process_of(_: Workshop) -> int:
    """Which process works."""
    return os.getpid()


def sleep(_: Workshop, seconds: float) -> None:
    """Work that takes its time."""
    time.sleep(seconds)


def stumble(_: Workshop) -> None:
    """A fault of ours, whose message holds the text."""
    raise ValueError("my secret text")


def die(_: Workshop) -> None:
    """The system ends the process."""
    os._exit(9)
