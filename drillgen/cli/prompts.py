"""`drillgen prompts`: things to talk about, each with an answer to practise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import check_sayable, is_there, read_text, report_doubts
from drillgen.cli.options import Documents, ForClient, Grading, Paper, Practice, option
from drillgen.cli.output import check_folder, print_json, print_text, render_sheets
from drillgen.core.errors import InputError, OptionError
from drillgen.core.options import parse_choice

if TYPE_CHECKING:
    from drillgen.corpus.reader import Prompt

COUNT = 6


def prompts(
    grading: Grading,
    practice: Practice,
    paper: Paper,
    output: Documents,
    step: Annotated[int | None, option("How hard: 1, 2 or 3. Default: any.")] = None,
    topic: Annotated[str | None, option("One topic (see --list-topics). Default: any.")] = None,
    count: Annotated[
        int | None, option(f"How many. Default: {COUNT}, or those of --answers.")
    ] = None,
    seed: Annotated[int, option("Another number, another choice.")] = 1,
    history: Annotated[
        Path | None, option("A file of used prompts, not to choose again; --client has one.")
    ] = None,
    model: Annotated[str, option("The example to practise: easier, fuller.")] = "fuller",
    answers: Annotated[
        Path | None, option("The client's own answers: a filled answer sheet, or one a line.")
    ] = None,
    answer_sheet: Annotated[
        Path | None, option("Write the questions as a text, to type answers into.")
    ] = None,
    list_topics: Annotated[bool, option("Print the topics and stop.", "--list-topics")] = False,
    as_json: Annotated[bool, option("Print the topics as JSON.", "--json")] = False,
    encoding: Annotated[str | None, option("Encoding of the answers, such as cp1252.")] = None,
    client: ForClient = None,
) -> None:
    """Make a sheet of conversation prompts, with answers in graded versions."""
    from drillgen.corpus.reader import load_prompts
    from drillgen.corpus.select import format_answer_sheet, parse_sheets
    from drillgen.sheets.prompts import Model, lay_out_prompts, make_prompt_sheet

    options = grading.options
    every = load_prompts(locale=options.spoken_locale)
    if list_topics:
        _print_topics(every, as_json)
        return
    if answers is not None and answer_sheet is not None:
        raise OptionError("--answers and --answer-sheet don't go together", "give one of them")
    notes = client if answers is None else None
    outputs = output.open(grading, reads=(history, answers), notes=notes)
    paths = output.plan(outputs, "prompts")
    if answer_sheet is not None:
        outputs.claim(answer_sheet)
    page, head, drilled = paper.page, practice.head, parse_choice(Model, model, "--model")
    past = ""
    if history is not None:
        check_folder(history)
        past = read_text(history, may_be_empty=True) if is_there(history) else ""
    sheets = (*parse_sheets(past, name=str(history)), *(client.prompts if client else ()))
    wanted = Wanted(step, topic, count, seed)
    if answers is None:
        used = [key for keys in sheets for key in keys]
        chosen, own = wanted.choose(every, COUNT, used), None
    else:
        kept = None if history is None and client is None else sheets
        chosen, own = _match_answers(
            read_text(answers, encoding), str(answers), kept, wanted, every
        )
    sheet = make_prompt_sheet(chosen, head, options, grading.engine(), answers=own, model=drilled)
    check_sayable(item.drill for item in sheet.items)
    document, values = lay_out_prompts(sheet), ("drillgen-prompts", 3, "sheet", sheet)
    for path, data in render_sheets(paths, document, values, page, discreet=head.discreet):
        outputs.write(path, data)
    if answer_sheet is not None:
        outputs.write(answer_sheet, format_answer_sheet(chosen).encode())
    if own is None:
        # Only now: a sheet that could not be written was not used.
        _note_prompts(chosen, history, client)
    report_doubts(item.drill for item in sheet.items)


def _print_topics(every: Sequence[Prompt], as_json: bool) -> None:
    topics = dict(sorted(Counter(prompt.topic for prompt in every).items()))
    if as_json:
        print_json(topics)
    else:
        print_text("".join(f"{name}\t{number}\n" for name, number in topics.items()))


@dataclass(frozen=True)
class Wanted:
    """Which prompts were asked for."""

    step: int | None
    topic: str | None
    count: int | None
    seed: int

    def choose(
        self, every: Sequence[Prompt], usual: int, used: Sequence[str] = ()
    ) -> tuple[Prompt, ...]:
        """Choose among all; `usual` is the count where none was given."""
        from drillgen.corpus.select import choose_prompts

        count = usual if self.count is None else self.count
        return choose_prompts(
            every, step=self.step, topic=self.topic, count=count, seed=self.seed, history=used
        )


def _note_prompts(chosen: Sequence[Prompt], history: Path | None, client: ForClient) -> None:
    """Add the prompts of a sheet to the history file and to the client's, to what stands there
    now: another run may have added some."""
    from drillgen.core.files import hold, write_whole
    from drillgen.corpus.select import append_history
    from drillgen.practice.clients import note_used

    if history is not None:
        with hold(history):
            past = read_text(history, may_be_empty=True) if is_there(history) else ""
            write_whole(history, append_history(past, chosen).encode(), private=True)
        typer.echo(f"added {len(chosen)} prompts to {history}", err=True)
    if client is not None:
        note_used(client, prompts=[tuple(prompt.key for prompt in chosen)])


def _match_answers(
    text: str,
    name: str,
    sheets: Sequence[Sequence[str]] | None,
    wanted: Wanted,
    every: Sequence[Prompt],
) -> tuple[tuple[Prompt, ...], tuple[str, ...]]:
    """The answers with the prompts that they belong to, never with others.

    An answer sheet names them; otherwise all prompts of the latest sheet of the history
    must have an answer; without a history (None) those that the options choose.
    """
    from drillgen.corpus.select import pair_answers, read_answer_sheet, split_answers

    pairs = read_answer_sheet(text, every, name=name)
    if not pairs:
        count = len(split_answers(text))
        if sheets is None:
            prompts = wanted.choose(every, count)
        else:
            by_key = {prompt.key: prompt for prompt in every}
            latest = sheets[-1] if sheets else ()
            prompts = tuple(by_key[key] for key in latest if key in by_key)
            if len(prompts) != count:
                there = f"{len(prompts)} prompts in the history's latest sheet"
                mend = "answer them all, or make the sheet with --answer-sheet and fill that in"
                raise InputError(f"{count} answers, but {there}", mend, file=name)
        pairs = pair_answers(prompts, text, name=name)
    return tuple(prompt for prompt, _ in pairs), tuple(answer for _, answer in pairs)
