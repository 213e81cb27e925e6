"""`drillgen prompts`: things to talk about, each with an answer to practise."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import (
    Accents,
    Encoding,
    Locales,
    TargetVowel,
    WordLists,
    check_folder,
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
from drillgen.core.errors import InputError
from drillgen.core.options import Format, PageSize, Strategy
from drillgen.core.values import Worksheet
from drillgen.core.wording import is_neutral

if TYPE_CHECKING:
    from drillgen.corpus.reader import Prompt

COUNT = 6


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("prompts")(prompts)


def prompts(
    step: Annotated[
        int | None, typer.Option("--step", help="How hard: 1, 2 or 3. Default: any.")
    ] = None,
    topic: Annotated[
        str | None, typer.Option("--topic", help="One topic (see --list-topics). Default: any.")
    ] = None,
    count: Annotated[
        int | None,
        typer.Option("--count", help=f"How many. Default: {COUNT}, or as many as --answers has."),
    ] = None,
    seed: Annotated[int, typer.Option("--seed", help="Another number gives another choice.")] = 1,
    history: Annotated[
        Path | None,
        typer.Option(
            "--history",
            help="A file of prompts that were used. They are not chosen again, and the new ones "
            "are added. It is made if there is none.",
        ),
    ] = None,
    answers: Annotated[
        Path | None,
        typer.Option(
            "--answers",
            help="The client's own answers to these prompts, one a line. They are practised "
            "instead of the model answers. With --history: answers to its latest prompts.",
        ),
    ] = None,
    list_topics: Annotated[
        bool, typer.Option("--list-topics", help="Print the topics and stop.")
    ] = False,
    title: Annotated[str, typer.Option("--title", help="Heading of the sheet.")] = "",
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
    encoding: Encoding = None,
) -> None:
    """Make a sheet of conversation prompts, with answers in graded versions."""
    from drillgen.corpus.reader import load_prompts
    from drillgen.sheets.prompts import lay_out_prompts, make_prompt_sheet

    every = load_prompts()
    if discreet:
        # A cold that took "my voice" is harmless, but the word may be read.
        every = tuple(p for p in every if is_neutral(f"{p.question} {p.answer}"))
    if list_topics:
        for name, number in sorted(Counter(prompt.topic for prompt in every).items()):
            typer.echo(f"{name}\t{number}")
        return
    chosen_formats = read_formats(formats, out, Format.PDF)
    page = read_page(size, large)
    options = read_options(target, accent, partial, rungs, locale)
    head = Worksheet(
        (), title, read_pitch(pitch), read_repetitions(repetitions), discreet=discreet
    )
    paths = plan_paths(chosen_formats, out, "prompts")
    if history is not None:
        check_folder(history)
    past = _read_history(history)
    given = _read_answers(answers, encoding)
    wanted = COUNT if count is None else count
    if given is not None and count is None:
        wanted = _count_answers(given)
    if given is not None and history is not None:
        chosen = _latest(load_prompts(), past, wanted, history)
    else:
        from drillgen.corpus.select import choose_prompts, parse_history

        used = parse_history(past, name=str(history))
        chosen = choose_prompts(
            every, step=step, topic=topic, count=wanted, seed=seed, history=used
        )
    own = None
    if given is not None:
        from drillgen.corpus.select import pair_answers

        own = [answer for _, answer in pair_answers(chosen, given, name=str(answers))]
    engine = load_engine(words, options.accent)
    sheet = make_prompt_sheet(chosen, head, options, engine, answers=own)
    document, values = lay_out_prompts(sheet), ("drillgen-prompts", 2, "sheet", sheet)
    files = [(paths[kind], render_sheet(document, values, kind, page)) for kind in chosen_formats]
    for path, data in files:
        write_output(path, data)
    if history is not None and given is None:
        from drillgen.core.files import write_whole
        from drillgen.corpus.select import append_history

        # Only now: a sheet that could not be written was not used.
        write_whole(history, append_history(past, chosen).encode())
        typer.echo(f"added {len(chosen)} prompts to {history}", err=True)
    report_doubts(item for p in sheet.items for item in p.drill.review)


def _read_history(path: Path | None) -> str:
    if path is None or not path.exists():
        return ""
    from drillgen.core.sources import decode_text, read_bytes

    data = read_bytes(path)
    return decode_text(data, str(path)) if data.strip() else ""


def _read_answers(path: Path | None, encoding: str | None) -> str | None:
    if path is None:
        return None
    from drillgen.core.sources import decode_text, read_bytes

    return decode_text(read_bytes(path), str(path), encoding)


def _count_answers(text: str) -> int:
    from drillgen.corpus.select import split_answers

    return len(split_answers(text))


def _latest(every: tuple[Prompt, ...], past: str, count: int, path: Path) -> tuple[Prompt, ...]:
    """The latest prompts of the history: those of the sheet that was answered."""
    from drillgen.corpus.select import parse_history

    by_key = {prompt.key: prompt for prompt in every}
    found = [by_key[key] for key in parse_history(past, name=str(path)) if key in by_key]
    if len(found) < count:
        raise InputError(
            f"{len(found)} prompts in the history, but {count} answers",
            "make the sheet of prompts first, or leave --history away",
            file=path,
        )
    return tuple(found[len(found) - count :])
