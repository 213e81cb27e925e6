"""Processes for what takes long: they can be stopped, and give their memory back.

A thread can't be stopped, and holds up the others while it works. So long texts and
files are made in processes of their own, at most a few, started when needed: one that
is past its time is ended, one that has grown fat or stood idle ends itself.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from queue import LifoQueue
from typing import Any, Final, TypeVar

from drillgen.core.errors import DrillgenError
from drillgen.speech.pronounce.overrides import Overrides
from drillgen.web.guard import describe_fault
from drillgen.web.limits import Limits
from drillgen.web.workshop import BusyError, Workshop

T_ = TypeVar("T_")

Work = Callable[[Workshop], T_]
"""What to do with the workshop of the process; pickled, so a partial of a method."""


_Given = tuple[Path, Overrides | None, Limits, Path | None]


class Workers:
    """At most `limits.slow_at_once` processes, each with a workshop of its own."""

    def __init__(
        self,
        words_path: Path,
        fixed: Overrides | None,
        limits: Limits,
        clients: Path | None = None,
    ) -> None:
        # A read-only view of a mapping can't be pickled.
        sent = None if fixed is None else replace(fixed, entries=dict(fixed.entries))
        self._given: Final = (words_path, sent, limits, clients)
        self._limits: Final = limits
        # The one used last is taken first, so that the others fall idle and end.
        self._free: Final[LifoQueue[_Worker]] = LifoQueue()
        self._all: Final = tuple(_Worker(self._given) for _ in range(limits.slow_at_once))
        for worker in self._all:
            self._free.put(worker)

    def start(self) -> None:
        """Have one ready before it is needed."""
        worker = self._free.get()
        worker.start()
        self._free.put(worker)

    def run(self, work: Work[T_], seconds: float) -> T_:
        """Do the work and wait for it. BusyError where it takes longer."""
        worker = self._free.get()
        try:
            return worker.run(work, seconds)
        finally:
            self._free.put(worker)

    def stop(self) -> None:
        """End them all, whatever they do."""
        for worker in self._all:
            worker.end()


class _Worker:
    """One process, or none while there is nothing to do. For one thread at a time."""

    def __init__(self, given: _Given) -> None:
        self._given: Final = given
        self._process: multiprocessing.process.BaseProcess | None = None
        self._line: Connection | None = None
        self._ended = False

    def start(self) -> Connection:
        """Start the process unless it runs; the line to it."""
        if self._process is not None and self._line is not None and self._process.is_alive():
            return self._line
        self.stop()
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, *self._given), daemon=True)
        process.start()
        theirs.close()
        self._process, self._line = process, ours
        return ours

    def run(self, work: Work[T_], seconds: float) -> T_:
        """Do the work in the process; once more in a new one if it had just ended."""
        for last in (False, True):
            line = self.start()
            try:
                line.send(work)
                if not line.poll(seconds):
                    self.stop()
                    raise BusyError("this takes too long", "try a shorter text")
                done, result, leaves = line.recv()
            except (EOFError, OSError):
                # It ended by itself between two works, or was ended.
                self.stop()
                if last or self._ended:
                    raise BusyError("the work was stopped", "try again") from None
                continue
            if leaves:
                # A new one gets ready before it is needed.
                self.stop()
                self.start()
            if not done:
                raise result
            answer: T_ = result
            return answer
        raise AssertionError

    def end(self) -> None:
        """End the process from another thread, for good: who waits for it is told."""
        self._ended = True
        if self._process is not None:
            self._process.kill()

    def stop(self) -> None:
        """End the process at once."""
        if self._line is not None:
            self._line.close()
        if self._process is not None:
            self._process.kill()
            self._process.join(1.0)
        self._process = self._line = None


def _serve(
    line: Connection,
    words_path: Path,
    fixed: Overrides | None,
    limits: Limits,
    clients: Path | None,
) -> None:
    """The process: work comes in, results go out, until nothing comes any more."""
    # Ctrl-C goes to the whole group; who started this process ends it.
    with suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    workshop = Workshop(words_path, fixed=fixed, limits=limits, clients=clients)
    while line.poll(limits.idle_time):
        try:
            work: Work[Any] = line.recv()
        except (EOFError, OSError):
            return
        try:
            answer: tuple[bool, Any] = (True, work(workshop))
        except DrillgenError as error:
            answer = (False, error)
        except Exception as error:
            # Its message may hold the text; type and place say enough to find it.
            answer = (False, RuntimeError(describe_fault(error)))
        leaves = _peak_memory() > limits.worker_memory
        try:
            line.send((*answer, leaves))
        except OSError:
            return
        if leaves:
            return


def _peak_memory() -> int:
    """Most bytes that this process has held, or 0 where the system doesn't tell."""
    try:
        import resource
    except ImportError:
        return 0
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak if sys.platform == "darwin" else peak * 1024
