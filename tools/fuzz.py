"""Misuse every command at random, and break runs half-way.

Usage: python tools/fuzz.py [--count 100000] [--seed 0] [--faults 100]

Each case is a command with options and values drawn from good and bad ones, over files of every
kind: texts, other encodings, random bytes, nothing. What must hold (`check_case`):

- the exit code is 0, 1 (inspect found something) or 2, and nothing is raised;
- with 2 there is one line or more, each "drillgen: …";
- no file that was there before is changed, unless it is an output made before by that command;
- no part of a file is left behind.

Each fault is a process of its own (`FAULTS`): killed at a random moment, two at once on one
folder, a full disk, a folder that is write-protected, closed standard input and output. What was
there before must be there still, or the whole new file. The same seed gives the same cases; a
failure prints its number, and `--only NUMBER` runs it alone.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import os
import random
import shlex
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

from drillgen.cli import run

FILES: Final[Mapping[str, bytes]] = {
    "t.txt": b"See you on the quay at noon.\n",
    "title.md": "# The café\n\n*Two* boats – and “a” gull.\n".encode(),
    "latin.txt": "The café is façade.\n".encode("latin-1"),
    "wide.txt": "The quay.".encode("utf-32"),
    "empty.txt": b"",
    "spaces.txt": b" \n\t\n",
    "signs.txt": "… — ☃ 🙂 !\n".encode(),
    "hebrew.txt": "שלום\n".encode(),
    "nul.txt": b"a\0b\0c",
    "bytes.bin": bytes(random.Random(1).randbytes(400)),
    "fake.pdf": b"%PDF-1.7\nno pages",
    "fake.zip": b"PK\x03\x04nothing",
    "fake.wav": b"RIFF\0\0\0\0WAVEfmt ",
    "log.csv": b"date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note\n"
    b"2030-01-31,1,phrase,full,,15,x,x,x,,0,\n",
    "bad.csv": b"date,session\nx,y,z\n",
    "words.txt": b"quay  K IY1\nnoon  like: noon\n",
    "bad-words.txt": b"quay  ZZ9\n#\n",
    "words.pls": b"<lexicon/>",
    "table.csv": b"text,format\nt.txt,md\nnone.txt,\n",
    "robin.toml": b'pitch = "A3"\n',
    "bad.toml": b"pitch = [\n",
    "x.json": b'{"format": "drillgen-worksheet"}',
}
"""What lies in the folder of a case."""

VALUES: Final = (
    *("", " ", "-", "--", "0", "-1", "1", "3", "13", "99999999999999999999", "1e9", "nan", "G3"),
    *("H9", "none", "i", "FLEECE", "zz", "é", "\u200b", "a" * 300, "x\ny", "../up", "/dev/null"),
    *("pdf", "md", "html", "json", "txt", "jsonl", "docx", "2030-01-31", "2030-02-30", "mon,fri"),
    *("rhotic", "scottish", "british", "a4", "letter", "stressed", "all", "word", "sentence"),
    *("chant", "higher", "GOOSE", "errands", "utf-8", "punycode", "undefined", "like: kee"),
    *("K IY1", "/kiː/", "18:30", "25:99", "out", "out/deep", "out.md", "out.pdf", "none.txt"),
)

COMMANDS: Final[Mapping[str, Sequence[str]]] = {
    "sheet": (
        *("--title", "--rungs", "--partial", "--pitch", "--size", "--accent", "--locale"),
        *("--target", "--breath", "--watch", "--words", "--client", "--encoding", "--text"),
        *("--large", "--discreet", "--force", "--ipa", "--no-review", "-f", "-o", "--repetitions"),
    ),
    "page": ("--pitch", "--rate", "--discreet", "--client", "-o", "--text", "--accent"),
    "ladder": ("--from", "--to", "--contrast", "--rungs", "--target", "-f", "-o", "--discreet"),
    "prompts": ("--step", "--topic", "--count", "--seed", "--answers", "--history", "-f", "-o"),
    "plan": (
        *("--weeks", "--days", "--weekdays", "--skip", "--minutes", "--start", "--from", "--to"),
        *("--log", "--log-sheet", "--ical", "--time", "--event-title", "-f", "-o", "--discreet"),
    ),
    "guide": ("--pitch", "--target", "-f", "-o", "--discreet"),
    "tone": ("--seconds", "--timbre", "--a4", "-o"),
    "progress": ("--log", "--teacher", "--rungs", "--client", "-f", "-o"),
    "find": ("--step", "--rich-in", "--count", "-o", "--force"),
    "difficulty": ("--json", "--text", "--accent"),
    "word": ("--in", "--accent", "--words", "--client"),
    "review": ("--json", "--all", "--save", "--text"),
    "inspect": ("--name", "--allow", "--json"),
    "words show": ("--list", "--json", "--client"),
    "words add": ("--list", "--client"),
    "words import": ("--list",),
    "words export": ("--list", "--force"),
    "client new": ("--pitch", "--unit", "--rungs", "--discreet", "--folder"),
    "client set": ("--pitch", "--unset", "--large", "--folder"),
    "client list": ("--json", "--folder"),
    "client show": ("--json", "--folder"),
    "client log": ("--folder",),
    "client remove": ("--yes", "--folder"),
    "batch": ("--out", "--json", "--force"),
}
"""Command → some of its options. Those that start a server or take long are left out."""

SWITCHES: Final = frozenset(
    ("--large", "--discreet", "--force", "--ipa", "--no-review", "--teacher", "--json", "--all")
)
GROWS: Final = frozenset(("words.txt", "bad-words.txt", "robin.toml", "bad.toml"))
"""Lists and clients' files: `words` and `client` are asked to change them."""
EMPTY: Final = frozenset(("empty.txt", "spaces.txt"))
"""A history may begin in them."""


def make_case(seed: int, number: int) -> list[str]:
    """A command line, the same for the same seed and number."""
    dice = random.Random(f"{seed}/{number}")
    command = dice.choice([*COMMANDS])
    arguments = command.split(" ")

    def value() -> str:
        names = [*FILES]
        return dice.choice(names) if dice.random() < 0.4 else dice.choice(VALUES)

    for _ in range(dice.choice((0, 1, 1, 1, 2, 3))):
        arguments.append(dice.choice([*FILES][:3]) if dice.random() < 0.5 else value())
    for option in dice.sample(COMMANDS[command], dice.randint(0, min(4, len(COMMANDS[command])))):
        arguments += [option] if option in SWITCHES else [option, value()]
    return ["-"] if dice.random() < 0.005 else arguments


class _Stream(io.TextIOWrapper):
    """Standard output or input as a process has it, in memory."""

    def __init__(self, data: bytes = b"") -> None:
        super().__init__(io.BytesIO(data), encoding="utf-8")

    @property
    def text(self) -> str:
        self.flush()
        buffer = self.buffer
        assert isinstance(buffer, io.BytesIO)
        return buffer.getvalue().decode("utf-8", "replace")


def lay_out_folder(folder: Path) -> None:
    """The files of a case; the current folder and the user's settings are in it."""
    for name, data in FILES.items():
        (folder / name).write_bytes(data)
    os.chdir(folder)
    os.environ["DRILLGEN_WORDS"] = str(folder / "own" / "words.txt")


def check_case(arguments: Sequence[str], folder: Path) -> str:
    """Run a case in a folder that `lay_out_folder` made; what is wrong, or nothing."""
    before = {name: hashlib.sha256(data).digest() for name, data in FILES.items()}
    out, err, stdin = _Stream(), _Stream(), sys.stdin
    sys.stdin = _Stream(b"Two boats.\n")
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run(arguments)
    except BaseException as error:
        return f"raised {type(error).__name__}: {error}"
    finally:
        sys.stdin = stdin
    allowed = (0, 1, 2) if arguments[0] == "inspect" else (0, 2)
    if code not in allowed:
        return f"exit code {code}"
    lines = err.text.splitlines()
    if code == 2 and not any(line.startswith("drillgen: ") for line in lines):
        return f"exit code 2 without a reason: {err.text[:200]!r}"
    if "Traceback" in err.text:
        return err.text
    changes = arguments[0] in ("words", "client", "review") or "--force" in arguments
    for name, digest in before.items():
        path = folder / name
        begun = name in EMPTY and "--history" in arguments
        if changes or begun or (name in GROWS and "--client" in arguments):
            continue
        if not path.is_file() or hashlib.sha256(path.read_bytes()).digest() != digest:
            return f"{name} was changed"
    left = [path.name for path in folder.rglob(".drillgen-*")]
    return f"left behind: {left}" if left else ""


def misuse(count: int, seed: int, only: int | None = None) -> list[str]:
    """Run cases; a line for each that is wrong. Writing anywhere else is not tried."""
    wrong = []
    numbers = range(count) if only is None else (only,)
    home = Path.cwd()
    with tempfile.TemporaryDirectory() as name:
        for number in numbers:
            folder = Path(name) / str(number % 50) / "in"
            folder.mkdir(parents=True, exist_ok=True)
            lay_out_folder(folder)
            arguments = make_case(seed, number)
            if problem := check_case(arguments, folder):
                wrong.append(f"case {number}: {shlex.join(arguments)[:300]}: {problem}")
                print(wrong[-1], flush=True)
        os.chdir(home)
    return wrong


# Faults

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


def break_runs(count: int, seed: int) -> list[str]:
    """Run faults in turn; a line for each that went wrong."""
    wrong = []
    for number in range(count):
        fault = FAULTS[number % len(FAULTS)]
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "t.txt").write_bytes(FILES["t.txt"])
            if problem := fault(folder, random.Random(f"{seed}/{number}")):
                wrong.append(f"fault {number}, {fault.__name__}: {problem}")
                print(wrong[-1], flush=True)
    return wrong


def main() -> int:
    """Misuse, then faults."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--faults", type=int, default=100)
    parser.add_argument("--only", type=int)
    options = parser.parse_args()
    wrong = misuse(options.count, options.seed, options.only)
    wrong += break_runs(options.faults, options.seed) if options.only is None else []
    print(
        f"{options.count} cases, {options.faults} faults, seed {options.seed}: {len(wrong)} wrong"
    )
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
