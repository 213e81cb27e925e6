"""`drillgen review`: settle doubtful pronunciations, one by one."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.common import WordStore, check_sayable, is_there, load_engine
from drillgen.cli.options import GivenTexts, Saying
from drillgen.cli.output import print_text
from drillgen.core.errors import DrillgenError
from drillgen.core.values import Phones
from drillgen.speech.pronounce.soundalike import Lookup


def review(
    texts: GivenTexts,
    saying: Saying,
    save: Annotated[
        Path | None,
        typer.Option(
            "--save",
            help="Word list that takes your choices. Default: the client's file, or your list.",
        ),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also the guesses that are probably right.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the questions as JSON.")] = False,
) -> None:
    """Show each doubtful word in its sentence and keep the pronunciation that you choose."""
    from drillgen.speech.pipeline import make_drill
    from drillgen.speech.review import ask_questions, format_questions, questions_to_json

    store = WordStore.choose(save, None if save else saying.client)
    lists = [*(saying.words or ()), *([save] if save and is_there(save) else [])]
    passages, options = texts.passages(), saying.options
    engine = load_engine(lists, options.accent, saying.client)
    drills = [make_drill(passage, options, engine=engine) for passage in passages]
    check_sayable(drills)
    questions = ask_questions(drills, guesses=everything)
    if as_json:
        print_text(questions_to_json(questions))
    elif not questions:
        print_text("No doubtful words.")
    elif not all(stream and stream.isatty() for stream in (sys.stdin, sys.stdout)):
        print_text(format_questions(questions))
    else:
        for number, question in enumerate(questions, start=1):
            typer.echo(f"\n[{number}/{len(questions)}] " + format_questions([question]), nl=False)
            count = len(question.candidates)
            choice = _ask(count)
            if choice == "q":
                return
            if choice == "s":
                continue
            phones = (
                _ask_own(lambda word: engine.pronouncer.pronounce_word(word).phones)
                if choice == "o"
                else question.candidates[int(choice) - 1].phones
            )
            if phones:
                store = store.add({question.item.word: phones})
                typer.echo(f"  kept in {store.path}")


def _ask(count: int) -> str:
    while True:
        answer = (
            typer.prompt(f"  1-{count} choose, o own, s skip, q stop", prompt_suffix=": ")
            .strip()
            .lower()
        )
        if answer in ("o", "s", "q") or (answer.isdigit() and 1 <= int(answer) <= count):
            return str(answer)


def _ask_own(lookup: Lookup) -> Phones:
    from drillgen.speech.review import read_own

    while True:
        answer = typer.prompt(
            "  how it sounds (like: shiv-AWN, /ʃɪˈvɔn/ or ARPAbet; empty: skip)",
            default="",
            show_default=False,
            prompt_suffix=": ",
        ).strip()
        if not answer:
            return ()
        try:
            return read_own(answer, lookup)
        except DrillgenError as error:
            typer.echo(f"  {error}")
