"""Formats and files of the commands that write one document."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from drillgen.cli.common import check_folder, read_accent
from drillgen.core.errors import OptionError
from drillgen.core.options import (
    DrillOptions,
    Format,
    PageOptions,
    PageSize,
    Strategy,
    parse_choice,
    parse_locale,
)
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Pitch

if TYPE_CHECKING:
    from drillgen.core.document import Document

Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", help="The file to write, or - for standard output."),
]
Formats = Annotated[
    list[str] | None, typer.Option("--format", "-f", help="pdf, md, txt or json. Repeatable.")
]
Size = Annotated[str, typer.Option("--size", help="a4 or letter.")]
Large = Annotated[bool, typer.Option("--large", help="Large print.")]
Discreet = Annotated[
    bool, typer.Option("--discreet", help="Neutral wording: no word of the purpose.")
]
Pitches = Annotated[str, typer.Option("--pitch", help="Target pitch: G3, 196, or none.")]
Partial = Annotated[
    str,
    typer.Option(
        "--partial", help="What the partial version swaps first: " + ", ".join(Strategy) + "."
    ),
]
Rungs = Annotated[
    int, typer.Option("--rungs", help="Partial versions, from most to fewest swaps: 0 to 12.")
]
Repetitions = Annotated[
    int, typer.Option("--repetitions", help="Tick boxes for each delivery: 1 to 12.")
]

STANDARD_OUTPUT = Path("-")
_ENDINGS = {"markdown": "md", "text": "txt"}


F = TypeVar("F", bound=StrEnum)


def read_formats(formats: Sequence[str] | None, out: Path | None, default: F) -> tuple[F, ...]:
    """The formats to write: as asked for, else by the ending of the file, else the default.

    The formats to choose from are those of the default's kind.
    """
    kind = type(default)
    if formats:
        return tuple(dict.fromkeys(parse_choice(kind, f, "--format") for f in formats))
    if out is not None and out.suffix:
        ending = out.suffix[1:].lower()
        return (parse_choice(kind, _ENDINGS.get(ending, ending), "--out"),)
    return (default,)


def read_options(target: str, accent: str, partial: str, rungs: int, locale: str) -> DrillOptions:
    """Read --target, --accent, --partial, --rungs and --locale."""
    return DrillOptions(
        target=target,
        accent=read_accent(accent),
        strategy=parse_choice(Strategy, partial, "--partial"),
        rungs=rungs,
        locale=parse_locale(locale),
    )


def read_page(size: str, large: bool) -> PageOptions:
    """Read --size and --large."""
    return PageOptions(parse_choice(PageSize, size, "--size"), large)


def plan_paths(
    formats: Sequence[Format], out: Path | None, stem: str
) -> Mapping[Format, Path | None]:
    """Where each format goes; None is standard output. Fails before any work is done."""
    if out == STANDARD_OUTPUT:
        if len(formats) > 1:
            raise OptionError(
                "standard output takes one format", "give one --format", file="--out -"
            )
        return {formats[0]: None}
    if out is None:
        base = Path(stem)
    elif out.is_dir():
        base = out / stem
    else:
        base = out.with_suffix("") if out.suffix[1:].lower() in (*Format, *_ENDINGS) else out
    paths: dict[Format, Path | None] = {}
    for kind in formats:
        named = out is not None and out.suffix and not out.is_dir() and len(formats) == 1
        path = out if named and out is not None else base.with_name(f"{base.name}.{kind}")
        check_folder(path)
        paths[kind] = path
    return paths


def render_document(document: Document, kind: Format, page: PageOptions) -> bytes:
    """A document in a format; says what a PDF can't show."""
    from drillgen.write import render

    data = render(document, kind, page)
    if kind is Format.PDF:
        from drillgen.write.pdf import pdf_warnings

        for warning in pdf_warnings(document):
            typer.echo(f"drillgen: {warning}", err=True)
    return data


def render_sheet(
    document: Document, values: tuple[str, int, str, object], kind: Format, page: PageOptions
) -> bytes:
    """A sheet in a format. In JSON it is its values, as
    `drillgen.write.json.render_values` takes them."""
    if kind is Format.JSON:
        from drillgen.write.json import render_values

        return render_values(*values).encode()
    return render_document(document, kind, page)


def write_output(path: Path | None, data: bytes | Iterable[bytes]) -> None:
    """Write a whole file and say so, or print. A long text may come in pieces."""
    if path is None:
        sys.stdout.buffer.writelines([data] if isinstance(data, bytes) else data)
        sys.stdout.buffer.flush()
        return
    from drillgen.core.files import write_whole

    write_whole(path, data)
    typer.echo(f"wrote {path}", err=True)


def read_pitch(text: str) -> Pitch | None:
    """Read --pitch; None where no pitch is wanted."""
    return None if text.strip().lower() == "none" else parse_pitch(text)


def read_repetitions(count: int) -> int:
    """Check --repetitions."""
    if not 1 <= count <= 12:
        raise OptionError(f"--repetitions must be 1 to 12, not {count}")
    return count
