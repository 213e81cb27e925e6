"""Misuse every face at random, and break runs half-way.

Usage: python tools/fuzz.py [--count 100000] [--first 0] [--seed 0] [--faults 100]

Of ten cases six are commands, three are texts and one is a request to the page (`FACES`).

A command has options and values drawn from good and bad ones, over files of every kind: texts,
other encodings, random bytes, nothing. Half are drawn with care, so that most of those do their
work. Six in a row share a folder, and meet there what the earlier ones made. What must hold:

- the exit code is 0, 1 (inspect found something) or 2, and nothing is raised;
- with 2 there is one line or more, each "drillgen: …";
- no file that was there before is changed, unless it is an output made before by that command;
- no part of a file is left behind, and no file is empty.

A text is put together from words, signs, marks and scripts, made into a drill, and written in one
format. Nothing but a `DrillgenError` may come; its tokens joined are the text; JSON is JSON.

A request sends random fields to one of the addresses. The answer is no error of the server, and
HTML or JSON in every case but a file.

Each fault (`tools/faults.py`) is a process of its own. The same seed gives the same cases; a
failure prints its number, and `--only NUMBER` runs it alone, after those of its folder.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import io
import json
import os
import random
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final, NamedTuple
from unittest.mock import patch

import typer.main
from faults import FAULTS, TEXT
from load_once import load_once

import drillgen.cli
from drillgen.cli import run
from drillgen.core.accents import list_accents
from drillgen.core.errors import DrillgenError
from drillgen.core.options import DrillOptions, Format, PageOptions, Strategy, Watch
from drillgen.core.values import Passage, Worksheet
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.write import render

FILES: Final[Mapping[str, bytes]] = {
    "t.txt": TEXT,
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
"""Good for some option, or for none."""

_TEXTS: Final = ("t.txt", "title.md", "latin.txt", "wide.txt", "-")
_UNITS: Final = ("syllable", "word", "phrase", "sentence", "passage")
_LISTS: Final = ("words.txt", "own.txt")

GOOD: Final[Mapping[str, Sequence[str]]] = {
    "--text": ("Two boats on the quay.", "I read it: 3 km, at 10:30!", "Zrovnik’s café"),
    "--encoding": ("utf-8", "latin-1"),
    "--accent": ("rhotic", "british", "scottish", "australian"),
    "--locale": ("american", "british"),
    "--words": ("words.txt",),
    "--client": ("robin.toml",),
    "--target": ("i", "FLEECE", "GOOSE", "e"),
    "--partial": tuple(Strategy),
    "--rungs": ("0", "1", "3", "12"),
    "--watch": tuple(Watch),
    "--breath": ("4", "8", "40"),
    "--title": ("Quay", "Ein Café – «drei»", "# a *b* $c$ <d>"),
    "--pitch": ("G3", "196", "none", "A#3"),
    "--repetitions": ("1", "12"),
    "--size": ("a4", "letter"),
    "--out": ("-", "out", "out/deep/a.md", "a.pdf", "b.html", "c.txt"),
    "--format": ("txt", "md", "html", "json", "jsonl", "txt", "md", "pdf"),
    "--rate": ("60", "90"),
    "--from": ("syllable", "word"),
    "--to": ("phrase", "sentence", "passage"),
    "--contrast": ("KIT", "GOOSE"),
    "--count": ("1", "2", "5"),
    "--seed": ("1", "77"),
    "--step": ("1", "2", "3"),
    "--topic": ("errands", "weather"),
    "--answers": ("t.txt", "title.md"),
    "--history": ("h.txt", "empty.txt"),
    "--weeks": ("1", "6"),
    "--days": ("1", "7"),
    "--weekdays": ("mon,fri", "sun"),
    "--skip": ("2030-01-31",),
    "--minutes": ("5", "60"),
    "--start": ("2030-01-31", "2030-12-29"),
    "--log": ("log.csv",),
    "--log-sheet": ("sheet.pdf", "sheet.csv"),
    "--ical": ("a.ics",),
    "--time": ("18:30",),
    "--event-title": ("Reading",),
    "--seconds": ("1", "0.2"),
    "--timbre": ("sine", "voice"),
    "--a4": ("440", "442"),
    "--rich-in": ("FLEECE", "KIT"),
    "--rung": ("0", "1"),
    "--in": ("I read the quay.",),
    "--save": ("own.txt", "words.txt"),
    "--name": ("Robin",),
    "--allow": ("words", "paths"),
    "--list": _LISTS,
    "--unit": _UNITS,
    "--unset": ("pitch",),
    "--folder": ("clients",),
}
"""Option → values that it takes, as a rule."""

_DRILL: Final = "--accent --locale --words --target --partial --rungs --watch"
_PAPER: Final = "--size --large --out --format --title --discreet --force"
_CLIENT: Final = "--pitch --accent --unit --rungs --large --discreet --folder"


class Command(NamedTuple):
    """What a command takes."""

    files: Sequence[Sequence[str]]
    """Good values of what is no option."""

    options: str
    more: int = 0
    """How often the last of `files` may be repeated."""


COMMANDS: Final[Mapping[str, Command]] = {
    "sheet": Command(
        [_TEXTS],
        f"{_DRILL} {_PAPER} --pitch --breath --client --encoding --text --ipa --no-review "
        "--repetitions --flow",
        2,
    ),
    "page": Command([_TEXTS], f"{_DRILL} --pitch --rate --discreet --client --out"),
    "ladder": Command((), f"{_DRILL} {_PAPER} --from --to --contrast --count --seed --client"),
    "prompts": Command(
        (),
        f"{_DRILL} {_PAPER} --step --topic --count --seed --answers --history --list-topics "
        "--json",
    ),
    "plan": Command(
        (),
        f"{_PAPER} --weeks --days --weekdays --skip --minutes --start --from --to --log "
        "--log-sheet --ical --time --event-title --client",
    ),
    "guide": Command((), f"{_PAPER} --pitch --target --accent --client"),
    "tone": Command([("G3", "196")], "--seconds --timbre --a4 --out --force"),
    "progress": Command((), f"{_PAPER} --log --teacher --rungs --client"),
    "find": Command(
        [("t.txt", "title.md", "latin.txt")],
        "--step --rich-in --count --out --format --force --target",
        2,
    ),
    "difficulty": Command([_TEXTS], "--json --text --accent --rung --parts", 1),
    "word": Command(
        [("quay", "Zrovnik", "read", "don't", "1984")], "--in --accent --words --client"
    ),
    "review": Command([_TEXTS], "--json --all --save --text --client", 1),
    "inspect": Command([(*FILES, "a.pdf", "out.md")], "--name --allow --json", 3),
    "words show": Command((), "--list --json --client"),
    "words add": Command(
        [("quay", "Zrovnik"), ("K IY1", "/kiː/", "like: key")], "--list --client"
    ),
    "words import": Command([("words.txt", "own.txt", "words.pls", "out.pls")], "--list"),
    "words export": Command([("out.pls",)], "--list --force"),
    "client new": Command([("wren",)], _CLIENT),
    "client set": Command([("wren", "robin")], f"{_CLIENT} --unset"),
    "client list": Command((), "--json --folder"),
    "client show": Command([("wren", "robin")], "--json --folder"),
    "client log": Command([("wren",), ("log.csv",)], "--folder"),
    "client remove": Command([("wren",)], "--yes --folder"),
    "batch": Command([("table.csv",)], "--out --json --force"),
}
"""Those that start a server or take long are left out."""

SWITCHES: Final = frozenset(
    ("--large", "--discreet", "--force", "--ipa", "--no-review", "--teacher", "--json", "--all")
) | {"--list-topics", "--parts", "--yes", "--flow"}
GROWS: Final = frozenset(("words.txt", "bad-words.txt", "robin.toml", "bad.toml"))
"""Lists and clients' files: `words` and `client` are asked to change them."""
EMPTY: Final = frozenset(("empty.txt", "spaces.txt"))
"""A history may begin in them."""


def make_command(dice: random.Random) -> list[str]:
    """A command line."""
    care = dice.choice((0.95, 0.95, 0.5, 0.0))
    name = dice.choice([*COMMANDS])
    command = COMMANDS[name]
    arguments = name.split(" ")

    def value(good: Sequence[str]) -> str:
        if good and dice.random() < care:
            return dice.choice(good)
        return dice.choice([*FILES] if dice.random() < 0.4 else VALUES)

    files = [*command.files]
    if dice.random() >= care:
        files = files[1:] if dice.random() < 0.5 else [*files, ()]
    if files and command.more:
        files += [files[-1]] * dice.randint(0, command.more)
    arguments += [value(good) for good in files]
    options = command.options.split()
    for option in dice.sample(options, dice.randint(0, min(5, len(options)))):
        arguments += [option] if option in SWITCHES else [option, value(GOOD[option])]
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
        path = folder / name
        if not path.is_file() or path.read_bytes() != data:
            path.write_bytes(data)
    os.chdir(folder)
    os.environ["DRILLGEN_WORDS"] = str(folder / "own" / "words.txt")


def check_case(arguments: Sequence[str], folder: Path) -> str:
    """Run a command in a folder that `lay_out_folder` made; what is wrong, or nothing."""
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
    return _check_files(arguments, folder)


def _check_files(arguments: Sequence[str], folder: Path) -> str:
    changes = arguments[0] in ("words", "client", "review") or "--force" in arguments
    for name, data in FILES.items():
        path = folder / name
        begun = name in EMPTY and "--history" in arguments
        if changes or begun or (name in GROWS and "--client" in arguments):
            continue
        if not path.is_file() or path.read_bytes() != data:
            return f"{name} was changed"
    for path in folder.rglob("*"):
        if path.name.startswith(".drillgen-"):
            return f"left behind: {path.name}"
        if path.name not in FILES and path.is_file() and not path.stat().st_size:
            return f"{path.name} is empty"
    return ""


# Texts

PIECES: Final = (
    *("boat", "quay", "The", "Zrovnik", "McVrantzel's", "BBC", "read", "café", "don’t", "x" * 40),
    *("1984", "3.14", "1,000", "$5.20", "10:30", "2030-01-31", "21st", "XIV", "½", "£3m", "+44"),
    *("e.g.", "Dr.", "J. R.", "a@b.example", "http://a.example/b?c=d", "#tag", "@who", "C++"),
    *(".", "!", "?", "…", ",", ";", ":", "—", "-", "'", "’", "“", "”", "(", ")", "[", "]", "/"),
    *("*", "**", "_", "`", "|", "# ", "> ", "- ", "<b>", "&amp;", "\\", "$", "{{", "{%", "=", "~"),
    *("\n", "\n\n", "\t", "\r\n", "\u00a0", "\u00ad", "\u200b", "\u200d", "\u202e", "\ufeff"),
    *("\0", "\x07", "\u2028", "\u0301", "é", "ß", "ﬁ", "İ", "שלום", "茶", "🇩🇪", "👩‍👧", "ð", "ŋ"),
)
"""What texts are put together from."""

FORMATS: Final = tuple(form for form in Format for _ in range(1 if form is Format.PDF else 4))
"""A PDF takes as long as all others together, and so comes less often."""


@cache
def _engine(accent: str) -> Engine:
    return Engine.load(accent=accent)


def check_text(dice: random.Random) -> str:
    """Make a text into a drill and a file; what is wrong, or nothing."""
    count = dice.choice((1, 2, 4, 8, 16, 32))
    signs = [dice.choice(PIECES) for _ in range(count)]
    if dice.random() < 0.2:
        signs += [chr(dice.choice((dice.randrange(0xD800), dice.randrange(0xE000, 0x110000))))]
    text = dice.choice(("", " ", " ")).join(signs) * dice.choice((1, 1, 1, 3))
    if dice.random() < 0.1:
        # A dialogue: what is the name of a speaker twice is not said.
        label = dice.choice((*PIECES, "QOTD", "MJ")).strip()
        text = f"{label}: {text}\nTom: No.\n{label}: {text}"
    options = DrillOptions(
        target=dice.choice(("IY", "IY", "UW", "EH")),
        accent=dice.choice([*list_accents()]),
        strategy=dice.choice([*Strategy]),
        rungs=dice.choice((0, 1, 1, 4)),
        watch=dice.choice([*Watch]),
        breath=dice.choice((4, 12, 40)),
    )
    form = dice.choice(FORMATS)
    try:
        drill = make_drill(Passage(text), options, engine=_engine(options.accent))
        joined = "".join(token.text for phrase in drill.phrases for token in phrase.tokens)
        sheet = Worksheet((drill,), dice.choice(("", text[:40])), None, discreet=count > 8)
        data = render(lay_out_drills(sheet), form, PageOptions(large=count == 2))
        if form is Format.JSON:
            json.loads(data)
    except DrillgenError as error:
        return f"{text!r}: an error of several lines" if "\n" in str(error) else ""
    except Exception as error:
        return f"{text!r} as {form} with {options}: {type(error).__name__}: {error}"
    return "" if joined == text else f"{text!r}: the tokens are {joined!r}"


# Requests

ADDRESSES: Final = (
    *("/", "/preview", "/word", "/keep", "/download", "/text", "/open", "/practise", "/own"),
    *("/prompts", "/ladder", "/plan", "/find", "/clients", "/client", "/record", "/check"),
    *("/nothing", "/page.js", "/recorded", "/checked", "/share", "/hear", "/progress"),
)
FIELDS: Final[Mapping[str, Sequence[str]]] = {
    "text": ("Two boats on the quay.", "Zrovnik's # café\n\n*a*", "", "1984 " * 30),
    "title": ("Quay",),
    "target": ("IY", "UW"),
    "accent": ("rhotic", "scottish"),
    "partial": tuple(Strategy),
    "rungs": ("0", "12"),
    "watch": tuple(Watch),
    "shown": ("0", "3"),
    "pitch": ("G3", ""),
    "steps": ("all", "shown"),
    "format": ("markdown", "practice", "look", "pdf"),
    "line": ("0", "1"),
    "cell": ("0", "2"),
    "part": ("1",),
    "first": ("1",),
    "spoken": ("quay", "boats"),
    "choice": ("own", "K IY1"),
    "own": ("K IY1", "key"),
    "act": ("save", "forget", "delete", "stop"),
    "sure": ("1",),
    "alias": ("robin", "wren", "../up"),
    "client": ("wren",),
    "take": ("passage", "prompt"),
    "taken": ("x",),
    "topic": ("errands",),
    "step": ("1", "3"),
    "from": _UNITS,
    "to": _UNITS,
    "count": ("1", "2"),
    "weeks": ("1", "2"),
    "start": ("2030-01-31",),
    "log": ("date,session\n2030-01-31,1\n",),
    "unit": _UNITS,
}
"""Field → values that it takes, as a rule."""


class _Browser:
    """Asks the application without a network."""

    def __init__(self, folder: Path) -> None:
        import httpx

        from drillgen.web.app import build_app

        transport = httpx.ASGITransport(build_app(folder / "own" / "words.txt"))
        self._client = httpx.AsyncClient(transport=transport, base_url="http://localhost:8737")
        self._runner = asyncio.Runner()

    def ask(self, method: str, path: str, **more: Any) -> Any:
        """The answer."""
        return self._runner.run(
            self._client.request(method, path, headers={"sec-fetch-site": "same-origin"}, **more)
        )

    def close(self) -> None:
        """Nothing is left open."""
        self._runner.run(self._client.aclose())
        self._runner.close()


@contextlib.contextmanager
def _browse(folder: Path) -> Iterator[_Browser]:
    browser = _Browser(folder)
    try:
        yield browser
    finally:
        browser.close()


def check_request(dice: random.Random, browser: _Browser) -> str:
    """Send a request; what is wrong, or nothing."""
    path = dice.choice(ADDRESSES)
    method = dice.choice(("GET", "POST", "POST", "POST", "HEAD", "PUT"))
    care = dice.choice((1.0, 0.9, 0.4))
    fields = {
        name: dice.choice(FIELDS[name] if dice.random() < care else VALUES)
        for name in {"text", *dice.sample([*FIELDS], dice.randint(0, 8))}
    }
    sent: dict[str, Any] = {"params": fields} if method in ("GET", "HEAD") else {"data": fields}
    if method == "POST" and (path == "/open" or dice.random() < 0.05):
        sent = {"content": dice.choice([*FILES.values()])}
    try:
        answer = browser.ask(method, path, **sent)
    except Exception as error:
        return f"{method} {path} {sent}: {type(error).__name__}: {error}"
    kind = answer.headers.get("content-type", "")
    said = kind.startswith(("text/html", "application/json")) or method == "HEAD"
    if answer.status_code >= 500 or (answer.status_code >= 400 and not said):
        return f"{method} {path} {sent}: {answer.status_code} {kind} {answer.text[:300]}"
    return ""


# All together

FACES: Final = "cccccctttr"
"""What each of ten cases is: a command, a text, a request."""


def misuse(
    count: int, seed: int, *, first: int = 0, only: int | None = None, show: bool = False
) -> list[str]:
    """Run cases; a line for each that is wrong. Writing anywhere else is not tried."""
    wrong = []
    if only is not None:
        first, count = only // len(FACES) * len(FACES), only + 1
    home = Path.cwd()
    with (
        tempfile.TemporaryDirectory() as name,
        load_once(),
        patch.object(drillgen.cli, "build_app", cache(drillgen.cli.build_app)),
        patch.object(typer.main, "get_command", cache(typer.main.get_command)),
        _browse(Path(name)) as browser,
    ):
        for number in range(first, count):
            group, place = divmod(number, len(FACES))
            dice = random.Random(f"{seed}/{number}")
            folder = Path(name) / str(group)
            if FACES[place] == "c":
                folder.mkdir(exist_ok=True)
                lay_out_folder(folder)
                arguments = make_command(dice)
                problem = check_case(arguments, folder)
                problem = problem and f"{shlex.join(arguments)[:400]}: {problem}"
            elif FACES[place] == "t":
                problem = check_text(dice)
            else:
                problem = check_request(dice, browser)
                os.chdir(home)
                shutil.rmtree(folder, ignore_errors=True)
            if problem:
                wrong.append(f"case {number}: {problem}")
                print(wrong[-1], flush=True)
            if show and number % 1000 == 999:
                print(f"{number + 1} cases, {len(wrong)} wrong", file=sys.stderr, flush=True)
        os.chdir(home)
    return wrong


def break_runs(count: int, seed: int) -> list[str]:
    """Run faults in turn; a line for each that went wrong."""
    wrong = []
    for number in range(count):
        fault = FAULTS[number % len(FAULTS)]
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "t.txt").write_bytes(TEXT)
            if problem := fault(folder, random.Random(f"{seed}/{number}")):
                wrong.append(f"fault {number}, {fault.__name__}: {problem}")
                print(wrong[-1], flush=True)
    return wrong


def main() -> int:
    """Misuse, then faults."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000, help="where to end")
    parser.add_argument("--first", type=int, default=0, help="where to begin")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--faults", type=int, default=100)
    parser.add_argument("--only", type=int)
    options = parser.parse_args()
    wrong = misuse(options.count, options.seed, first=options.first, only=options.only, show=True)
    wrong += break_runs(options.faults, options.seed) if options.only is None else []
    print(
        f"{options.count - options.first} cases, {options.faults} faults, seed {options.seed}: "
        f"{len(wrong)} wrong"
    )
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
