"""`drillgen prompts`: things to talk about, each with an answer to practise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import check_sayable, is_there, read_text, report_doubts
from drillgen.cli.options import Documents, Grading, Paper, Practice
from drillgen.cli.output import check_folder, print_text, render_sheet
from drillgen.core.errors import InputError
from drillgen.core.wording import is_neutral

if TYPE_CHECKING:
    from drillgen.corpus.reader import Prompt

COUNT = 6


def prompts(
    grading: Grading,
    practice: Practice,
    paper: Paper,
    output: Documents,
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
    encoding: Annotated[
        str | None,
        typer.Option("--encoding", help="Encoding of the answers. Default: a guess."),
    ] = None,
) -> None:
    """Make a sheet of conversation prompts, with answers in graded versions."""
    from drillgen.core.files import write_whole
    from drillgen.corpus.reader import load_prompts
    from drillgen.corpus.select import (
        append_history,
        choose_prompts,
        pair_answers,
        parse_history,
        split_answers,
    )
    from drillgen.sheets.prompts import lay_out_prompts, make_prompt_sheet

    every = load_prompts()
    if practice.discreet:
        # A cold that took "my voice" is harmless, but the word may be read.
        every = tuple(p for p in every if is_neutral(f"{p.question} {p.answer}"))
    if list_topics:
        topics = sorted(Counter(prompt.topic for prompt in every).items())
        print_text("".join(f"{name}\t{number}\n" for name, number in topics))
        return
    outputs = output.open(grading, reads=(history, answers))
    paths = output.plan(outputs, "prompts")
    options, page, head = grading.options, paper.page, practice.head
    past = ""
    if history is not None:
        check_folder(history)
        past = read_text(history, may_be_empty=True) if is_there(history) else ""
    given = None if answers is None else read_text(answers, encoding)
    wanted = count
    if wanted is None:
        wanted = COUNT if given is None else len(split_answers(given))
    used = parse_history(past, name=str(history))
    if given is not None and history is not None:
        chosen = _latest(load_prompts(), used, wanted, history)
    else:
        chosen = choose_prompts(
            every, step=step, topic=topic, count=wanted, seed=seed, history=used
        )
    own = None
    if given is not None:
        own = [answer for _, answer in pair_answers(chosen, given, name=str(answers))]
    sheet = make_prompt_sheet(chosen, head, options, grading.engine(), answers=own)
    check_sayable(item.drill for item in sheet.items)
    document, values = lay_out_prompts(sheet), ("drillgen-prompts", 2, "sheet", sheet)
    made = {kind: render_sheet(document, values, kind, page) for kind in paths}
    for kind, data in made.items():
        outputs.write(paths[kind], data)
    if history is not None and given is None:
        # Only now: a sheet that could not be written was not used.
        write_whole(history, append_history(past, chosen).encode(), private=True)
        typer.echo(f"added {len(chosen)} prompts to {history}", err=True)
    report_doubts(item for p in sheet.items for item in p.drill.review)


def _latest(
    every: tuple[Prompt, ...], used: Sequence[str], count: int, path: Path
) -> tuple[Prompt, ...]:
    """The latest prompts of the history: those of the sheet that was answered."""
    by_key = {prompt.key: prompt for prompt in every}
    found = [by_key[key] for key in used if key in by_key]
    if len(found) < count:
        raise InputError(
            f"{len(found)} prompts in the history, but {count} answers",
            "make the sheet of prompts first, or leave --history away",
            file=path,
        )
    return tuple(found[len(found) - count :])
