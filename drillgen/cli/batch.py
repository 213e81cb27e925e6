"""`drillgen batch`: a whole caseload of sheets, from a table, on all cores."""

from __future__ import annotations

import gc
import hashlib
import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field, fields, replace
from functools import cache, lru_cache
from itertools import chain, groupby, islice
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, TypeVar

import typer

from drillgen.cli.common import (
    find_client,
    is_there,
    note_texts,
    personal_words,
    read_text,
    tell,
)
from drillgen.cli.options import Grading, Paper, Practice, option
from drillgen.cli.output import print_json, show_progress
from drillgen.core.errors import DrillgenError, InputError, OptionError, OutputError, placed
from drillgen.core.files import make_folder, write_whole
from drillgen.core.options import DrillOptions, Format, PageOptions, parse_choice
from drillgen.core.sources import read_data
from drillgen.core.tables import iter_rows
from drillgen.core.values import Drill, Passage, Worksheet

if TYPE_CHECKING:
    from drillgen.practice.clients import Client
    from drillgen.speech.pipeline import Engine

OWN_COLUMNS: Final = ("client", "text", "out", "format", "title")
JOURNAL: Final = ".made"
"""What was made: keyed hashes, from which neither a name nor a word can be read."""

KEPT: Final = 10
"""Documents of which the typesetter keeps what it set, some 20 kB a word."""

EVICT_ABOVE: Final = 6000
"""Words in these documents above which it is made to forget all of them: memory stays flat. What
documents have in common goes, too, so that short handouts do better without."""

Bundle = TypeVar("Bundle", Grading, Paper, Practice)

BAD_ROWS: Final = 2
"""Exit code where a row could not be made."""


@dataclass(frozen=True, slots=True)
class Job:
    """One row, ready to be made."""

    line: int
    text: str
    """Path of the text."""

    out: str
    """Path of the file to write."""

    kind: Format
    options: DrillOptions
    page: PageOptions
    head: Worksheet
    words: tuple[tuple[str, str], ...]
    """Word lists that hold: where each comes from, and its text."""

    seal: str = ""
    """Of all that goes in."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a row."""

    line: int
    out: str = ""
    error: str = ""
    fresh: bool = True
    """False where the file was there already, made from the same."""

    checks: int = 0
    """Words to check."""

    notes: tuple[str, ...] = ()
    """What the word lists do in the text, and that it is too short for its rungs."""


@dataclass
class Journal:
    """The seals of finished rows, and of the files that are ours to replace."""

    path: Path
    seals: set[str] = field(default_factory=set)

    @classmethod
    def load(cls, folder: Path) -> Journal:
        """The journal of a folder; empty where there is none."""
        path = folder / JOURNAL
        try:
            return cls(path, set(path.read_text(encoding="ascii").split()))
        except (OSError, UnicodeDecodeError):
            return cls(path)

    def is_done(self, job: Job) -> bool:
        """Whether the file is there, made from the same, and nobody changed it."""
        return not self.seals.isdisjoint(self._seal(job.out, job.seal))

    def is_ours(self, out: str) -> bool:
        """Whether we made the file, from whatever, and nobody changed it."""
        return not self.seals.isdisjoint(self._seal(out, ""))

    def add(self, job: Job) -> None:
        """Note a row that was made."""
        with Path(job.out).open("r+b") as file:
            # Here and not in the worker, which would wait for the disk.
            os.fsync(file.fileno())
        new = self._seal(job.out, job.seal, "")
        self.seals.update(new)
        with self.path.open("a", encoding="ascii") as file:
            file.write("".join(f"{seal}\n" for seal in sorted(new)))

    @staticmethod
    def _seal(out: str, *seals: str) -> list[str]:
        path = Path(out)
        digest = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "none"
        parts = (f"{seal}\0{path.name}\0{digest}" for seal in seals)
        return [hashlib.sha256(part.encode()).hexdigest()[:32] for part in parts]


def batch(
    table: Annotated[
        Path,
        typer.Argument(
            metavar="TABLE.csv",
            help="One row a sheet. Columns: text (a file, seen from the table), and as you like "
            "client, out, format, title and the settings of a client (drillgen client set -h).",
        ),
    ],
    out: Annotated[Path, option("The folder for the sheets.", "--out", "-o")] = Path("handouts"),
    workers: Annotated[int | None, option("Processes. Default: one for each core.")] = None,
    force: Annotated[
        bool, option("Make every row again, and replace files of others.", "--force")
    ] = False,
    as_json: Annotated[bool, option("Print what became of each row.", "--json")] = False,
) -> None:
    """Make a sheet for each row of a table. Run again, it makes what is missing or changed."""
    if workers is not None and workers < 1:
        raise OptionError(f"--workers must be 1 or more, not {workers}")
    journal = Journal.load(out)
    outcomes: list[Outcome] = []
    jobs: dict[int, Job] = {}
    taken: dict[str, int] = {}
    own = personal_words()
    own_words = str(own), read_text(own, may_be_empty=True) if is_there(own) else ""
    rows = list(read_table(table))

    find = cache(_find_editable)

    def plan() -> Iterator[Job]:
        # One after the other, while the first are made.
        for line, row in rows:
            try:
                client = find(row["client"]) if row.get("client") else None
                job = plan_row(line, row, client, table, out, taken, own_words)
                if not force and journal.is_done(job):
                    outcomes.append(Outcome(line, job.out, fresh=False))
                    continue
                if not force and Path(job.out).exists() and not journal.is_ours(job.out):
                    problem = "it is there already, and batch did not make it"
                    raise OutputError(problem, "choose another name, or --force", file=job.out)
            except DrillgenError as error:
                with_line = error if error.file == str(table) else f"{table}, line {line}: {error}"
                outcomes.append(Outcome(line, error=str(with_line)))
                continue
            jobs[line] = job
            yield job

    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    make_folder(out)
    with show_progress("making") as progress:
        for outcome in run_jobs(plan(), min(workers or cores or 1, len(rows))):
            if outcome.error:
                outcome = replace(outcome, error=f"{table}, line {outcome.line}: {outcome.error}")
            else:
                journal.add(jobs[outcome.line])
            for note in outcome.notes:
                tell(f"{table}, line {outcome.line}: {note}")
            outcomes.append(outcome)
            if progress:
                progress(len(outcomes), len(rows))
    outcomes.sort(key=lambda outcome: outcome.line)
    at = dict(rows)
    made = [(at[o.line], jobs[o.line]) for o in outcomes if o.fresh and not o.error]
    _note_used((find(row["client"]), job) for row, job in made if row.get("client"))
    _report(outcomes, out, as_json)


def _find_editable(name: str) -> Client:
    from drillgen.practice.clients import check_editable

    client = find_client(name)
    check_editable(client)
    return client


def _note_used(made: Iterable[tuple[Client, Job]]) -> None:
    """As a sheet for one client notes it: the next week takes other texts."""
    for client, jobs in groupby(sorted(made, key=lambda one: one[0].alias), lambda one: one[0]):
        note_texts(client, [Passage("", "", job.text) for _, job in jobs])


def _report(outcomes: Sequence[Outcome], out: Path, as_json: bool) -> None:
    """Say what became of the rows; exit code 2 where one could not be made."""
    failed = [outcome for outcome in outcomes if outcome.error]
    for outcome in failed:
        typer.echo(f"drillgen: {outcome.error}", err=True)
    kept = sum(not outcome.fresh for outcome in outcomes)
    made = len(outcomes) - kept - len(failed)
    doubts = sum(outcome.checks > 0 for outcome in outcomes)
    parts = [f"{made} made in {out}", f"{kept} as they were", f"{len(failed)} failed"]
    more = f"; {doubts} with words to check" if doubts else ""
    typer.echo(f"{', '.join(parts)}{more}", err=True)
    if as_json:
        state = {True: "made", False: "as it was"}
        rows = [
            {
                "line": o.line,
                "file": o.out or None,
                "state": "failed" if o.error else state[o.fresh],
                "error": o.error or None,
                "words_to_check": o.checks,
                "notes": list(o.notes),
            }
            for o in outcomes
        ]
        print_json(rows)
    if failed:
        raise typer.Exit(BAD_ROWS)


# Reading the table


def read_table(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """The rows of a table with their lines.

    InputError for a table without rows or with an unknown column.
    """
    from drillgen.practice.clients import SETTINGS

    head: list[str] = []
    rows = 0
    for line, cells in iter_rows(read_text(path), str(path)):
        if head:
            rows += 1
            yield line, dict(zip(head, cells, strict=False))
            continue
        head = [cell.lower() for cell in cells]
        known = (*OWN_COLUMNS, *SETTINGS)
        unknown = [name for name in head if name not in known]
        if unknown or "text" not in head:
            what = f"column {unknown[0]!r} is unknown" if unknown else "no column text"
            mend = f"the columns are: {', '.join(known)}"
            raise InputError(what, mend, file=path, line=line)
    if not rows:
        mend = "write a line of names, such as client,text, and a row for each sheet"
        raise InputError("there are no rows in it", mend, file=path)


def plan_row(
    line: int,
    row: dict[str, str],
    client: Client | None,
    table: Path,
    out: Path,
    taken: dict[str, int],
    own_words: tuple[str, str],
) -> Job:
    """What a row asks for: its own cells go before the client's settings.

    `taken` has the files of the rows before, and takes this one's. DrillgenError for what
    does not fit.
    """
    settings = _settings_of(row, client, table, line)
    if not row.get("text"):
        raise InputError("there is no text", "name a file", file=table, line=line)
    text = table.parent / row["text"]
    kind = parse_choice(Format, row.get("format") or Format.PDF, "format")
    stem = f"{text.stem}-{'sheet' if settings.get('discreet') else 'drill'}"
    name = Path(row.get("out") or stem)
    if name.is_absolute() or ".." in name.parts:
        problem = f"{row['out']!r} is outside the folder"
        raise InputError(problem, "write a plain name", file=table, line=line)
    if not row.get("out") and client:
        name = client.alias / name
    target = out / (name if name.suffix == f".{kind}" else Path(f"{name}.{kind}"))
    before = taken.setdefault(os.path.normcase(target), line)
    if before != line:
        mend = "give one of them a name in the column out"
        raise InputError(f"line {before} writes {target}, too", mend, file=table, line=line)
    words = [(str(client.file), client.words)] if client else []
    job = Job(
        line,
        str(text),
        str(target),
        kind,
        _bundle(Grading, settings).options,
        _bundle(Paper, settings).page,
        _bundle(Practice, settings | {"title": row.get("title", "")}).head,
        (*words, own_words),
    )
    return replace(job, seal=_seal(job))


def _bundle(kind: type[Bundle], settings: dict[str, Any]) -> Bundle:
    """The options of a single command, as the settings have them."""
    names = {field.name for field in fields(kind)}
    return kind(**{name: value for name, value in settings.items() if name in names})


def _settings_of(
    row: dict[str, str], client: Client | None, table: Path, line: int
) -> dict[str, Any]:
    from drillgen.practice.clients import SETTINGS, check_setting

    settings: dict[str, Any] = dict(client.settings) if client else {}
    for name in SETTINGS:
        if not (cell := row.get(name, "")):
            continue
        value: Any = cell
        if cell.lower() in ("yes", "true", "x", "no", "false"):
            value = cell.lower() in ("yes", "true", "x")
        elif cell.isascii() and cell.isdigit():
            value = int(cell)
        with placed(table, line):
            checked = check_setting(name, value)
        settings[name] = settings.get(name) or checked if name == "discreet" else checked
    return settings


def _seal(job: Job) -> str:
    """A hash of all that goes into a sheet: the text, the options, the words, our version."""
    from drillgen.core.sources import read_bytes

    made_by = (_our_version(), job.kind, job.options, job.page, job.head, job.words)
    digest = hashlib.sha256(repr(made_by).encode())
    digest.update(read_bytes(Path(job.text)))
    return digest.hexdigest()


@cache
def _our_version() -> str:
    from importlib import metadata

    return metadata.version("drillgen")


# Making the sheets


def run_jobs(jobs: Iterator[Job], workers: int) -> Iterator[Outcome]:
    """Make the sheets in so many processes, a single one here; what is done first comes first."""
    first = list(islice(jobs, 2))
    rest = chain(first, jobs)
    if workers <= 1 or len(first) < 2:
        yield from map(make_sheet, rest)
        return
    # Spawned, not forked: the same on every system, and safe beside threads.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_be_quiet) as pool:
        waiting: dict[Future[Outcome], Job] = {}
        try:
            while True:
                while len(waiting) < 3 * workers and (job := next(rest, None)) is not None:
                    waiting[pool.submit(make_sheet, job)] = job
                if not waiting:
                    return
                done, _ = wait(waiting, return_when=FIRST_COMPLETED)
                for future in done:
                    waiting.pop(future)
                    yield future.result()
        except BrokenProcessPool:
            mend = "run it again, with fewer --workers; what is made stays"
            raise OutputError("a worker process ended too early", mend) from None
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _be_quiet() -> None:
    """In a worker: the main process hears Ctrl-C, and the row at work is ended whole. The
    typesetter has one thread, since there is a worker for each core. Cycles are looked for
    seldom, as in a single command (`drillgen.__main__`)."""
    gc.set_threshold(50_000, 20, 20)
    os.environ.setdefault("RAYON_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def make_sheet(job: Job) -> Outcome:
    """Make one sheet and write it whole; no error goes further than its row."""
    from drillgen.sheets.content import note_idle_rungs

    try:
        drill, guesses = _make(job)
        checks = sum(item.doubtful for item in drill.review)
        notes = (*guesses, *note_idle_rungs(drill), *drill.notes)
        return Outcome(job.line, job.out, checks=checks, notes=notes)
    except DrillgenError as error:
        return Outcome(job.line, error=str(error))
    except Exception as error:
        # A fault of ours in one text is no reason to leave the others unmade.
        reason = f"{type(error).__name__}: {error}"
        return Outcome(job.line, error=f"{job.text}: can't be made ({reason})")


def _make(job: Job) -> tuple[Drill, list[str]]:
    """Write a sheet; its drill, and what was guessed of the text."""
    from drillgen.cli.common import check_sayable
    from drillgen.sheets.drill import lay_out_drills
    from drillgen.speech.pipeline import make_drill
    from drillgen.write import render
    from drillgen.write.json import render_json
    from drillgen.write.pdf import load_typesetter

    guesses: list[str] = []
    passage = read_data(Path(job.text).read_bytes(), job.text, tell=guesses.append)
    engine = _engine_for(job.options.accent, job.words)
    drill = make_drill(passage, job.options, engine=engine)
    check_sayable([drill])
    sheet = replace(job.head, drills=(drill,), title=job.head.title or passage.title)
    if job.kind is Format.JSON:
        data = render_json(sheet).encode()
    else:
        data = render(lay_out_drills(sheet), job.kind, job.page)
    write_whole(job.out, data, flush=False)
    if job.kind is Format.PDF:
        laid_out = _laid_out()
        laid_out.append(sum(map(len, drill.readings)))
        if sum(laid_out) > EVICT_ABOVE:
            load_typesetter().forget()
            laid_out.clear()
    return drill, guesses


@cache
def _laid_out() -> deque[int]:
    """The words in the PDFs of this process that the typesetter still keeps."""
    return deque(maxlen=KEPT)


@lru_cache(maxsize=1)
def _base_engine() -> Engine:
    from drillgen.speech.pipeline import Engine

    return Engine.load()


@lru_cache(maxsize=4)
def _engine_for(accent: str, words: tuple[tuple[str, str], ...]) -> Engine:
    """The engine of a client. Few are kept; all share dictionary and models."""
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.overrides import merge_overrides, parse_overrides

    lookup = Lexicon.load().first
    lists = [parse_overrides(text, name, lookup) for name, text in words]
    return _base_engine().adapt(overrides=merge_overrides(lists), accent=accent)
