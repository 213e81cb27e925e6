"""Break runs half-way: each fault is a process of its own, or two.

Killed at a random moment, two at once on one folder, a full disk, a folder that is
write-protected, closed standard input and output. What was there before must be there still, or
the whole new file. `tools/fuzz.py` runs them.
"""

from __future__ import annotations

import os
import random
import shlex
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

TEXT: Final = b"See you on the quay at noon.\n"
_SHEET: Final = ("sheet", "t.txt", "-f", "md", "-f", "txt", "-o", "out")


def _start(folder: Path, *arguments: str, **more: object) -> subprocess.Popen[bytes]:
    environment = {**os.environ, "DRILLGEN_WORDS": str(folder / "own" / "words.txt")}
    command = [sys.executable, "-m", "drillgen", *arguments]
    streams = {"stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE, **more}
    return subprocess.Popen(command, cwd=folder, env=environment, **streams)  # type: ignore[call-overload, no-any-return]


def _whole(folder: Path) -> str:
    """What is wrong with what lies in `out`."""
    for path in (folder / "out").glob("t-drill.*"):
        if not path.read_text("utf-8").endswith("\n") or path.stat().st_size < 200:
            return f"{path.name} is not whole"
    return ""


def kill_half_way(folder: Path, dice: random.Random) -> str:
    """SIGKILL at a random moment: a file is there whole or not at all; the next run sweeps."""
    process = _start(folder, *_SHEET)
    time.sleep(dice.uniform(0.0, 2.5))
    process.kill()
    process.communicate()
    problem = _whole(folder)
    again = _start(folder, *_SHEET, "--force")
    _, said = again.communicate()
    if again.returncode:
        return f"the next run failed: {said.decode()}"
    left = [p.name for p in folder.rglob(".drillgen-*")]
    return problem or _whole(folder) or (f"left behind: {left}" if left else "")


def stop_half_way(folder: Path, dice: random.Random) -> str:
    """Ctrl-C at a random moment: exit code 130 or 0, never a traceback."""
    process = _start(folder, *_SHEET)
    time.sleep(dice.uniform(0.3, 2.5))
    process.send_signal(signal.SIGINT)
    _, said = process.communicate()
    if b"Traceback" in said or process.returncode not in (0, 130, -signal.SIGINT):
        return f"exit code {process.returncode}: {said.decode()[-300:]}"
    return _whole(folder)


def two_at_once(folder: Path, dice: random.Random) -> str:
    """Two runs on one folder: both end well or say why; what lies there is whole."""
    first = _start(folder, *_SHEET, "--force")
    time.sleep(dice.uniform(0.0, 0.3))
    second = _start(folder, *_SHEET, "--force")
    for process in (first, second):
        _, said = process.communicate()
        if process.returncode or b"Traceback" in said:
            return f"exit code {process.returncode}: {said.decode()[-300:]}"
    return _whole(folder)


def two_add_words(folder: Path, dice: random.Random) -> str:
    """Two runs that add to one word list: it can be read, and has one of the words at least."""
    adds = []
    for word in ("quay", "key"):
        adds.append(_start(folder, "words", "add", word, "K IY1"))
        time.sleep(dice.uniform(0.0, 0.3))
    for process in adds:
        process.communicate()
        if process.returncode:
            return f"exit code {process.returncode}"
    lines = (folder / "own" / "words.txt").read_text("utf-8").splitlines()
    return "" if any(line.endswith("K IY1") for line in lines) else f"the list is {lines}"


def full_disk(folder: Path, dice: random.Random) -> str:
    """/dev/full as standard output: one line, exit code 2."""
    with Path("/dev/full").open("wb") as full:
        command = dice.choice((("word", "quay"), ("guide", "-f", "txt", "-o", "-"), ("--help",)))
        process = _start(folder, *command, stdout=full)
        _, said = process.communicate()
    if process.returncode != 2 or b"Traceback" in said:
        return f"exit code {process.returncode}: {said.decode()[-300:]}"
    return ""


def closed_streams(folder: Path, dice: random.Random) -> str:
    """Standard input or output closed: an answer or one line, never a traceback."""
    command = " ".join((shlex.quote(sys.executable), "-m drillgen sheet - -f txt -o -"))
    closing = dice.choice(("<&-", ">&-", "<&- >&-"))
    done = subprocess.run(f"{command} {closing}", cwd=folder, shell=True, capture_output=True)
    if done.returncode != 2 or b"Traceback" in done.stderr:
        return f"{closing}: exit code {done.returncode}: {done.stderr.decode()[-300:]}"
    return ""


def protected_folder(folder: Path, dice: random.Random) -> str:
    """A folder that can't be written: one line, exit code 2. The superuser can write anywhere."""
    out = folder / "out"
    out.mkdir()
    out.chmod(0o500)
    process = _start(folder, *_SHEET, "--rungs", str(dice.randint(0, 3)))
    _, said = process.communicate()
    out.chmod(0o700)
    expected = 0 if hasattr(os, "geteuid") and os.geteuid() == 0 else 2
    if process.returncode != expected or b"Traceback" in said:
        return f"exit code {process.returncode}: {said.decode()[-300:]}"
    return ""


FAULTS: Final[Sequence[Callable[[Path, random.Random], str]]] = (
    *(kill_half_way, stop_half_way, two_at_once, two_add_words, full_disk, closed_streams),
    protected_folder,
)
