"""The processes for slow work: answers and errors come back, late ones are ended."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from slow_works import die, process_of, sleep, stumble

from drillgen.core.errors import InputError
from drillgen.speech.pronounce.overrides import parse_overrides
from drillgen.web.forms import Choices, Download, TooLargeError
from drillgen.web.limits import Limits
from drillgen.web.worker import Workers
from drillgen.web.workshop import BusyError, Lane, Workshop


@pytest.fixture(scope="module")
def workers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workers]:
    """One process, with a word list of its own."""
    fixed = parse_overrides("robin L UW1 B IH0 N", "list")
    path = tmp_path_factory.mktemp("own") / "words.txt"
    made = Workers(path, fixed, Limits(slow_at_once=1))
    yield made
    made.stop()


def test_work_is_done_elsewhere_with_the_same_word_list(workers: Workers) -> None:
    assert workers.run(process_of, 20) != os.getpid()
    choices = Choices(text="Robin sings.", rungs=0)
    preview = workers.run(partial(Workshop.preview, choices=choices, lane=Lane.SLOW), 20)
    pieces = preview.sentences[0].words[0].layers[-1].pieces
    assert "".join(piece.text for piece in pieces).lower().endswith("lee-bean")
    make = partial(Workshop.make_file, choices=choices, kind=Download.MARKDOWN, lane=Lane.SLOW)
    assert b"lee" in workers.run(make, 20).data


def test_errors_come_back_as_they_are(workers: Workers) -> None:
    make = partial(Workshop.make_file, kind=Download.PDF, lane=Lane.SLOW)
    with pytest.raises(InputError, match="no text yet; paste one"):
        workers.run(partial(make, choices=Choices()), 20)
    long = Choices(text="Two boats. " * 9_000)
    with pytest.raises(TooLargeError):
        workers.run(partial(make, choices=long), 60)


def test_a_fault_tells_no_text(workers: Workers) -> None:
    with pytest.raises(RuntimeError) as caught:
        workers.run(stumble, 20)
    assert "ValueError" in str(caught.value)
    assert "secret" not in str(caught.value)


def test_work_past_its_time_is_ended_and_the_next_goes_on(workers: Workers) -> None:
    first = workers.run(process_of, 20)
    began = time.monotonic()
    with pytest.raises(BusyError, match="too long"):
        workers.run(partial(sleep, seconds=30), 0.2)
    assert time.monotonic() - began < 5
    assert workers.run(process_of, 20) != first


def test_a_process_that_dies_is_replaced(workers: Workers) -> None:
    with pytest.raises(BusyError, match="stopped"):
        workers.run(die, 20)
    assert workers.run(process_of, 20)


def test_stopping_ends_work_under_way(workers: Workers) -> None:
    workers.run(process_of, 20)
    caught: list[Exception] = []

    def work() -> None:
        try:
            workers.run(partial(sleep, seconds=30), 25)
        except BusyError as error:
            caught.append(error)

    thread = threading.Thread(target=work)
    began = time.monotonic()
    thread.start()
    time.sleep(0.2)
    workers.stop()
    thread.join(10)
    assert time.monotonic() - began < 8
    assert not thread.is_alive()


def test_a_fat_process_is_replaced_after_its_answer(tmp_path: Path) -> None:
    workers = Workers(tmp_path / "words.txt", None, Limits(slow_at_once=1, worker_memory=1))
    try:
        assert workers.run(process_of, 20) != workers.run(process_of, 20)
    finally:
        workers.stop()
