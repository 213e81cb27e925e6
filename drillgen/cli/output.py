"""Where the commands write: formats, names, and the rule of what is never replaced."""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import re
import secrets
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

import typer

from drillgen.cli.common import personal_words
from drillgen.core.errors import DrillgenError, OptionError, OutputError
from drillgen.core.files import SEALS, derive_key, make_folder, write_folder, write_whole
from drillgen.core.options import Format, PageOptions, parse_choice

if TYPE_CHECKING:
    from drillgen.core.document import Document

STANDARD_OUTPUT: Final = Path("-")
_ENDINGS: Final = {"markdown": "md", "text": "txt", "htm": "html"}
_KEPT: Final = 2_000
"""Files of ours that are known again; older ones need --force."""

_MANY_PAGES: Final = 10

F = TypeVar("F", bound=StrEnum)


class Outputs:
    """The files of one run: all claimed before any work, then written whole.

    An output is never a file that the run reads, and no two outputs are one file. An
    existing file is replaced only if the same command wrote it with the same options
    and nobody changed it since, or with --force. Files are known again by a list of
    seals beside the personal word list: keyed hashes, from which neither a name nor a
    word can be read.
    """

    def __init__(self, reads: Iterable[Path], made_by: str, *, force: bool = False) -> None:
        self._reads: Final = tuple(reads)
        self._made_by: Final = made_by
        self._force: Final = force
        self._claimed: Final[list[Path | None]] = []

    def claim(self, path: Path | None) -> None:
        """Take a place for a file; None is standard output. Errors if it can't be had."""
        if path is None or path == STANDARD_OUTPUT:
            if None in self._claimed:
                problem, mend = "standard output takes one format", "give one --format"
                raise OptionError(problem, mend, file="--out -")
            self._claimed.append(None)
            return
        check_folder(path)
        if any(_is_same(path, other) for other in self._reads):
            raise OutputError("this run reads it", "choose another name to write", file=path)
        if any(other is not None and _is_same(path, other) for other in self._claimed):
            raise OutputError("two outputs would have this name", "give them two", file=path)
        if path.is_file() and not self._force and not self._is_ours(path):
            problem = "it is there already, and this command with these options did not make it"
            raise OutputError(problem, "choose another name, or add --force", file=path)
        self._claimed.append(path)

    def plan(
        self, formats: Sequence[F], out: Path | None, stem: str, *, is_folder: bool = False
    ) -> Mapping[F, Path | None]:
        """Claim a place for each format of a document that is called `stem` by default.

        `is_folder`: `out` is one, whether it is there yet or not.
        """
        paths: dict[F, Path | None] = {}
        inside = out is not None and (is_folder or out.is_dir())
        base = out / stem if out is not None and inside else out or Path(stem)
        named = base is out and out.suffix != ""
        if named and base.suffix[1:].lower() in (*formats, *Format, *_ENDINGS):
            base = base.with_suffix("")
        for kind in formats:
            paths[kind] = base.with_name(f"{base.name}.{kind}")
            if out == STANDARD_OUTPUT:
                paths[kind] = None
            elif named and len(formats) == 1:
                paths[kind] = out
            self.claim(paths[kind])
        return paths

    def claim_folder(self, folder: Path) -> None:
        """Take a place for a folder, which is written whole. Errors if it can't be had.

        One that is there is replaced only if all its files are ours, as `claim` has it, or
        with --force if it has no files but those that are written now.
        """
        _check_parent(folder)
        if folder.exists() and not folder.is_dir():
            raise OutputError("this is a file", "choose another name", file=folder)
        inside = [path for path in folder.rglob("*") if not path.is_dir()]
        if any(_is_same(path, other) for path in inside for other in self._reads):
            raise OutputError("this run reads what is in it", "choose another name", file=folder)
        others = [path for path in inside if not self._is_ours(path)]
        if others and not self._force:
            problem = f"this command with these options did not make {others[0].name} in it"
            raise OutputError(problem, "choose another name, or move the folder", file=folder)
        self._claimed.append(folder)

    def write_folder(self, folder: Path, files: Mapping[str, bytes]) -> None:
        """Write a whole folder and say so."""
        there = {str(path.relative_to(folder)) for path in folder.rglob("*")}
        others = sorted(there - files.keys())
        if not all(self._is_ours(folder / name) for name in others):
            problem = f"{others[0]} in it is none of these files"
            raise OutputError(problem, "move the folder", file=folder)
        write_folder(folder, files)
        typer.echo(f"wrote {len(files)} files in {folder}", err=True)
        self._note(folder / name for name in files)

    def write(
        self, path: Path | None, data: bytes | Iterable[bytes], *, private: bool = False
    ) -> None:
        """Write a whole file and say so, or print. A long text may come in pieces.

        `private`: a new file is for the owner alone, as write_whole has it.
        """
        if path is None or path == STANDARD_OUTPUT:
            print_bytes([data] if isinstance(data, bytes) else data)
            return
        write_whole(path, data, private=private)
        typer.echo(f"wrote {path}{_count_pages(data)}", err=True)
        self._note([path])

    def _note(self, paths: Iterable[Path]) -> None:
        """Remember that we made these files."""
        with suppress(DrillgenError, OSError):
            # A home that can't be written is no reason to fail; --force will be asked for.
            salt, *seals = _read_seals() or [secrets.token_hex(16)]
            new = [_seal(path, self._made_by, salt) for path in paths]
            lines = [salt, *[s for s in seals if s not in new][-_KEPT:], *new]
            make_folder(_seal_file().parent)
            write_whole(_seal_file(), "\n".join(lines).encode(), private=True)

    def _is_ours(self, path: Path) -> bool:
        salt, *seals = _read_seals() or [""]
        return path.is_file() and _seal(path, self._made_by, salt) in seals


def _count_pages(data: object) -> str:
    """How many pages a long PDF has: it is known before it is printed."""
    found = re.search(rb"/Type/Pages/Count (\d+)", data) if isinstance(data, bytes) else None
    return f" ({int(found[1])} pages)" if found and int(found[1]) >= _MANY_PAGES else ""


def _seal_file() -> Path:
    return personal_words().parent / SEALS


def _read_seals() -> list[str]:
    with suppress(OSError, UnicodeDecodeError):
        return _seal_file().read_text(encoding="ascii").split()
    return []


def _seal(path: Path, made_by: str, salt: str) -> str:
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").digest()
    return hmac.new(salt.encode(), made_by.encode() + digest, "sha256").hexdigest()[:32]


def make_key(name: str) -> str:
    """A key that stays the same for a name on this machine, and from which it can't be read."""
    return derive_key(_seal_file(), name)


def _is_same(one: Path, other: Path) -> bool:
    with suppress(OSError):
        return one.samefile(other)
    return os.path.normcase(os.path.realpath(one)) == os.path.normcase(os.path.realpath(other))


def check_folder(path: Path) -> None:
    """Fail early, before any work, if a file can't be put there."""
    _check_parent(path)
    try:
        if path.is_dir():
            raise OutputError("this is a folder", "name a file", file=path)
    except OSError as error:
        raise OutputError(f"can't be written ({error.strerror})", "choose another name") from None


def _check_parent(path: Path) -> None:
    """A folder that is not there yet will be made: the nearest one that is must allow it."""
    try:
        path.exists()
        folder = next(parent for parent in path.absolute().parents if parent.exists())
        if not folder.is_dir():
            raise OutputError(f"{folder} is no folder", "choose another name", file=path)
    except OSError as error:
        raise OutputError(f"can't be written ({error.strerror})", "choose another name") from None
    if not os.access(folder, os.W_OK):
        raise OutputError("no permission to write there", "choose another folder", file=path)


@contextmanager
def show_progress(label: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on a terminal, told how much is done of how much; None elsewhere."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield None
        return
    with typer.progressbar(length=1, label=label, file=sys.stderr) as bar:

        def show(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        yield show


def print_bytes(pieces: Iterable[bytes]) -> None:
    """Print a result as it is."""
    if sys.stdout is None:
        raise OutputError("standard output is closed", "name a file with --out")
    sys.stdout.flush()
    sys.stdout.buffer.writelines(pieces)
    sys.stdout.buffer.flush()


def print_text(text: str) -> None:
    """Print a result for people."""
    if sys.stdout is None:
        raise OutputError("standard output is closed", "open it to see the result")
    whole = text if text.endswith("\n") else f"{text}\n"
    if sys.stdout.isatty() and whole.count("\n") >= shutil.get_terminal_size().lines:
        # More than a screen: a pager, where a person looks.
        import pydoc

        pydoc.pager(whole)
    else:
        typer.echo(whole, nl=False)


def print_json(value: object) -> None:
    """Print a result for programs."""
    print_text(json.dumps(value, ensure_ascii=False, indent=2))


def read_formats(formats: Sequence[str] | None, out: Path | None, default: F) -> tuple[F, ...]:
    """The formats to write: as asked for, else by the ending of the file, else the default.

    The formats to choose from are those of the default's kind.
    """
    kind = type(default)
    if formats:
        chosen = tuple(dict.fromkeys(parse_choice(kind, f, "--format") for f in formats))
        ending = out.suffix[1:].lower() if out is not None else ""
        # Markdown is plain text: nobody is misled by its name.
        if ending in [*kind] and ending not in chosen and not {ending, *chosen} <= {"md", "txt"}:
            problem = f"its name ends in .{ending}, but the format is {chosen[0]}"
            raise OptionError(problem, "name it otherwise, or leave out --format", file=out or "")
        return chosen
    if out is not None and out.suffix:
        ending = out.suffix[1:].lower()
        known = _ENDINGS.get(ending, ending)
        if known not in [*kind]:
            mend = f"end its name in one of: {', '.join(f'.{name}' for name in kind)}"
            raise OptionError(f"no .{ending} file can be made", mend, file=out)
        return (kind(known),)
    return (default,)


def render_document(document: Document, kind: Format, page: PageOptions) -> bytes:
    """A document in a format; says what a PDF can't show."""
    from drillgen.write import render

    data = render(document, kind, page)
    if kind is Format.PDF:
        from drillgen.write.pdf import pdf_warnings

        for warning in pdf_warnings(document):
            typer.echo(f"drillgen: {warning}", err=True)
    return data


def render_sheets(
    paths: Mapping[Format, Path | None],
    document: Document,
    values: tuple[str, int, str, object],
    page: PageOptions,
    *,
    discreet: bool = False,
) -> list[tuple[Path | None, bytes]]:
    """A sheet in each format: all of them before any is written. In JSON it is its values, as
    `drillgen.write.json.render_values` takes them."""

    def render(kind: Format) -> bytes:
        if kind is not Format.JSON:
            return render_document(document, kind, page)
        from drillgen.write.json import render_values

        return render_values(*values, discreet=discreet).encode()

    return [(path, render(kind)) for kind, path in paths.items()]
