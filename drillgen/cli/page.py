"""`drillgen page`: a text in, a practice page out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from drillgen.cli.common import (
    Accents,
    Encoding,
    Files,
    GivenText,
    Locales,
    TargetVowel,
    WordLists,
    check_folder,
    load_engine,
    read_passages,
    report_doubts,
    stem_of,
)
from drillgen.cli.output import (
    STANDARD_OUTPUT,
    Discreet,
    Partial,
    Pitches,
    Rungs,
    read_options,
    read_pitch,
    read_repetitions,
    write_output,
)
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import InputError, OptionError
from drillgen.core.options import Strategy
from drillgen.core.values import Drill, Passage, Worksheet

MAX_WORDS: Final = 3_000
"""A phone shows this much without a pause; nobody practises more at a time."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("page")(page)


def page(
    files: Files = None,
    text: GivenText = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="A .html file, or - for standard output. Default: NAME-practice.html here.",
        ),
    ] = None,
    title: Annotated[str | None, typer.Option("--title", help="Heading of the page.")] = None,
    pitch: Pitches = "G3",
    target: TargetVowel = "i",
    accent: Accents = DEFAULT_ACCENT,
    locale: Locales = "",
    partial: Partial = Strategy.STRESSED.value,
    rungs: Rungs = 1,
    repetitions: Annotated[
        int, typer.Option("--repetitions", help="Repetitions of each phrase: 1 to 12.")
    ] = 3,
    rate: Annotated[
        float,
        typer.Option("--rate", help="Speed of the pacer in syllables per second: 0.5 to 4."),
    ] = 1.5,
    discreet: Discreet = False,
    words: WordLists = None,
    encoding: Encoding = None,
) -> None:
    """Make a practice page: one HTML file to send home, which works on a phone, offline."""
    options = read_options(target, accent, partial, rungs, locale)
    tone = read_pitch(pitch)
    read_repetitions(repetitions)
    passages = read_passages(files, text, encoding)
    path = _target_path(passages, out)
    if path is not None:
        check_folder(path)

    from drillgen.sheets.practice_page import make_practice_page
    from drillgen.speech.pipeline import make_drill
    from drillgen.write.page import render_page

    engine = load_engine(words, options.accent)
    drills = tuple(make_drill(passage, options, engine=engine) for passage in passages)
    _check_length(drills)
    single = passages[0].title if len(passages) == 1 else ""
    worksheet = Worksheet(
        drills=drills,
        title=title or single,
        pitch=tone,
        repetitions=repetitions,
        discreet=discreet,
    )
    data = render_page(make_practice_page(worksheet, rate=rate)).encode()
    write_output(path, data)
    report_doubts((item for drill in drills for item in drill.review), listed=False)


def _target_path(passages: tuple[Passage, ...], out: Path | None) -> Path | None:
    """Where the page goes; None for standard output."""
    if out == STANDARD_OUTPUT:
        return None
    if out is None or out.is_dir():
        return (out or Path()) / f"{stem_of(passages[0])}-practice.html"
    if out.suffix.lower() not in (".html", ".htm"):
        raise OptionError(
            f"--out {str(out)!r} is not a web page", "name a file that ends in .html"
        )
    return out


def _check_length(drills: tuple[Drill, ...]) -> None:
    said = sum(len(reading) for drill in drills for row in drill.readings for reading in row)
    if said > MAX_WORDS:
        raise InputError(
            f"{said} words are too many for one page (at most {MAX_WORDS})", "split the text"
        )
