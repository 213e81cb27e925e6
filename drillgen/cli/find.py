"""`drillgen find`: mine large texts for sentences to practise with."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import read_accent, tell
from drillgen.cli.options import AccentName, Documents, TargetVowel, option
from drillgen.cli.output import read_formats, show_progress
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import OptionError
from drillgen.core.options import Format

if TYPE_CHECKING:
    from drillgen.corpus.find import Find


def find(
    output: Documents,
    files: Annotated[
        list[Path], typer.Argument(help="Texts; plain ones of any size.", metavar="FILE")
    ],
    step: Annotated[int, option("How hard: 1, 2 or 3.")] = 1,
    rich_in: Annotated[
        list[str] | None,
        option("Lexical set that the sentences are full of: GOOSE, THOUGHT, … Repeatable."),
    ] = None,
    count: Annotated[int, option("How many sentences: 1 to 10000.")] = 20,
    workers: Annotated[int | None, option("Processes. Default: one for each core.")] = None,
    target: TargetVowel = "i",
    accent: AccentName = DEFAULT_ACCENT,
) -> None:
    """Find sentences that suit a step and a contrast, the richest first."""
    from drillgen.corpus.find import find_sentences
    from drillgen.corpus.mining import tools_for

    chosen = read_formats(output.formats, output.out, Format.TEXT)
    if others := {*chosen} & {Format.PDF, Format.HTML}:
        raise OptionError(
            f"find writes txt, md and json, no {min(others)}", "make a sheet of the txt file"
        )
    outputs = output.open(reads=tuple(files))
    paths = outputs.plan(chosen, output.out or Path("-"), "found")
    with show_progress("reading") as progress:
        finds = find_sentences(
            files,
            tools_for(target, read_accent(accent)),
            step=step,
            rich_in=tuple(rich_in or ()),
            count=count,
            workers=workers,
            progress=progress,
            tell=tell,
        )
    for kind, path in paths.items():
        if data := _format(finds, kind):
            outputs.write(path, data.encode())
    if len(finds) < count:
        nothing = "" if finds else "; try another --step, or a longer text"
        typer.echo(f"found {len(finds)}, not {count}{nothing}", err=True)


def _format(finds: Sequence[Find], kind: Format) -> str:
    if kind is Format.JSON:
        rows = [
            {
                "text": found.text,
                "share": round(found.share, 3),
                "words": found.carriers,
                "difficulty": round(found.difficulty, 1),
            }
            for found in finds
        ]
        return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"
    if kind is Format.MARKDOWN:
        from drillgen.write.markdown import format_rows

        header = ("Sentence", "Words of the set", "Difficulty")
        cells = [
            (f.text, ", ".join(dict.fromkeys(f.carriers)), f"{f.difficulty:.0f}") for f in finds
        ]
        return format_rows(header, cells) + "\n" if cells else ""
    # One sentence a paragraph: the file goes straight into `drillgen sheet`.
    return "".join(f"{found.text}\n\n" for found in finds)
