"""`drillgen ladder`: one booklet from small units to larger ones."""

from __future__ import annotations

from typing import Annotated

import typer

from drillgen.cli.common import (
    Accents,
    Locales,
    TargetVowel,
    WordLists,
    load_engine,
    report_doubts,
)
from drillgen.cli.output import (
    Discreet,
    Formats,
    Large,
    Out,
    Partial,
    Pitches,
    Repetitions,
    Rungs,
    Size,
    plan_paths,
    read_formats,
    read_options,
    read_page,
    read_pitch,
    read_repetitions,
    render_sheet,
    write_output,
)
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.options import Format, PageSize, Strategy, Unit, parse_choice
from drillgen.core.values import Worksheet


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("ladder")(ladder)


def ladder(
    first: Annotated[str, typer.Option("--from", help="First unit: " + ", ".join(Unit) + ".")] = (
        Unit.WORD.value
    ),
    last: Annotated[str, typer.Option("--to", help="Last unit.")] = Unit.PASSAGE.value,
    contrast: Annotated[
        list[str] | None,
        typer.Option(
            "--contrast",
            help="Lexical set to climb around: GOOSE, THOUGHT, … Repeatable. Default: the two "
            "farthest from the target.",
        ),
    ] = None,
    count: Annotated[
        int,
        typer.Option("--count", help="Words in a list: 1 to 24. Phrases and sentences are fewer."),
    ] = 8,
    seed: Annotated[int, typer.Option("--seed", help="Another number gives another choice.")] = 1,
    title: Annotated[str, typer.Option("--title", help="Heading of the booklet.")] = "",
    out: Out = None,
    formats: Formats = None,
    pitch: Pitches = "G3",
    target: TargetVowel = "i",
    accent: Accents = DEFAULT_ACCENT,
    locale: Locales = "",
    partial: Partial = Strategy.STRESSED.value,
    rungs: Rungs = 1,
    repetitions: Repetitions = 3,
    size: Size = PageSize.A4.value,
    large: Large = False,
    discreet: Discreet = False,
    words: WordLists = None,
) -> None:
    """Make a booklet that climbs from syllables or words to a passage or conversation."""
    from drillgen.sheets.ladder import LadderOptions, lay_out_ladder, make_ladder, read_contrasts

    chosen = read_formats(formats, out, Format.PDF)
    page = read_page(size, large)
    options = read_options(target, accent, partial, rungs, locale)
    choice = LadderOptions(
        first=parse_choice(Unit, first, "--from"),
        last=parse_choice(Unit, last, "--to"),
        contrasts=read_contrasts(contrast or (), options),
        count=count,
        seed=seed,
    )
    head = Worksheet((), title, read_pitch(pitch), read_repetitions(repetitions), discreet)
    paths = plan_paths(chosen, out, "ladder")
    engine = load_engine(words, options.accent)
    sheet = make_ladder(choice, head, options, engine)
    document, values = lay_out_ladder(sheet), ("drillgen-ladder", 2, "sheet", sheet)
    files = [(paths[kind], render_sheet(document, values, kind, page)) for kind in chosen]
    for path, data in files:
        write_output(path, data)
    report_doubts(item for unit in sheet.units for drill in unit.drills for item in drill.review)
