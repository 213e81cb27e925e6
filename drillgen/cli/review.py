"""`drillgen review`: settle doubtful pronunciations, one by one."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import WordStore, check_sayable, is_there, load_engine, name_doubts, tell
from drillgen.cli.options import GivenTexts, Saying, option
from drillgen.cli.output import print_text
from drillgen.core.errors import DrillgenError
from drillgen.core.values import Phones
from drillgen.speech.pronounce.places import EVERYWHERE, Scope
from drillgen.speech.pronounce.soundalike import Lookup

if TYPE_CHECKING:
    from drillgen.speech.pipeline import Engine
    from drillgen.speech.review import Question, Use


def review(
    texts: GivenTexts,
    saying: Saying,
    save: Annotated[
        Path | None,
        option("Word list that takes your choices. Default: the client's file, or your list."),
    ] = None,
    everything: Annotated[
        bool,
        option("Also what is probably right, and every homograph in all its places.", "--all"),
    ] = False,
    as_json: Annotated[bool, option("Print the questions as JSON.", "--json")] = False,
) -> None:
    """Settle doubtful words: each in its sentence; the pronunciation that you choose is kept."""
    from drillgen.speech.pipeline import make_drill
    from drillgen.speech.review import ask_questions, format_questions, questions_to_json

    store = WordStore.choose(save, None if save else saying.client)
    lists = [*(saying.words or ()), *([save] if save and is_there(save) else [])]
    passages, options = texts.passages(), saying.options
    engine = load_engine(lists, options.accent, saying.client)
    drills = [make_drill(passage, options, engine=engine) for passage in passages]
    check_sayable(drills)
    questions = ask_questions(drills, guesses=everything)
    asked = {question.item.word for question in questions}
    # Numbers are never asked about, and what is probably right with --all only.
    rest = [item for drill in drills for item in drill.review if item.word not in asked]
    if as_json:
        print_text(questions_to_json(questions))
        return
    if not questions:
        print_text("No words to settle.")
    for line in name_doubts(rest, "; settle it in the text, in words", "; --all shows them"):
        typer.echo(line, err=True)
    if not questions:
        return
    if not all(stream and stream.isatty() for stream in (sys.stdin, sys.stdout)):
        print_text(format_questions(questions))
    else:
        for note in dict.fromkeys(note for drill in drills for note in drill.notes):
            tell(note)
        lookup = partial(_look_up, engine)
        for number, question in enumerate(questions, start=1):
            typer.echo(f"\n[{number}/{len(questions)}] " + format_questions([question]), nl=False)
            store, go_on = _settle(question, store, lookup)
            if not go_on:
                return


def _look_up(engine: Engine, word: str) -> Phones:
    return engine.pronouncer.pronounce_word(word).phones


def _settle(question: Question, store: WordStore, lookup: Lookup) -> tuple[WordStore, bool]:
    """Ask for one word, a homograph place by place. The list after it; False: stop."""
    from drillgen.speech.review import format_use

    places: Sequence[Use | None] = question.places or (None,)
    for number, place in enumerate(places, start=1):
        if place is not None and len(places) > 1:
            typer.echo(f"  {number}/{len(places)}  {format_use(place)}")
        choice = _ask(len(question.candidates))
        if choice == "q":
            return store, False
        if choice == "s":
            continue
        if choice.isdigit():
            phones = question.candidates[int(choice) - 1].phones
        else:
            phones = _ask_own(lookup, "" if choice == "o" else choice)
        if phones:
            scope = EVERYWHERE if place is None else _ask_where(place.scope)
            store = store.add({question.item.word: phones}, scope)
            typer.echo(f"  kept in {store.path}")
            if place is not None and not scope.is_place:
                # The rest of this text, or of all, is settled with it.
                break
    return store, True


def _ask_where(place: Scope) -> Scope:
    """Where a reading of a homograph holds."""
    while True:
        answer = typer.prompt(
            "  it holds: p in this place, t in this text, e everywhere",
            default="p",
            prompt_suffix=": ",
        )
        match answer.strip().lower():
            case "p":
                return place
            case "t":
                return Scope(place.text)
            case "e":
                return EVERYWHERE


def _ask(count: int) -> str:
    """The number of a candidate, o, s, q, or at once how the word sounds."""
    while True:
        numbers = f"1-{count}" if count > 1 else "1"
        ways = f"  {numbers} choose, o in your way, s skip, q stop"
        answer = str(typer.prompt(ways, prompt_suffix=": ")).strip()
        if answer.lower() in ("o", "s", "q"):
            return answer.lower()
        if answer.isdecimal() and 1 <= int(answer) <= count:
            return answer
        if "-" in answer or answer[:1] in "/[":
            return answer
        typer.echo(f"  write {numbers}, o, s, q, or how it sounds (shiv-AWN)")


def _ask_own(lookup: Lookup, answer: str = "") -> Phones:
    """How a word sounds; `answer`: what was typed already."""
    from drillgen.speech.review import read_own

    while True:
        answer = (
            answer
            or typer.prompt(
                "  how it sounds (like: shiv-AWN, /ʃɪˈvɔn/ or ARPAbet; empty: skip)",
                default="",
                show_default=False,
                prompt_suffix=": ",
            ).strip()
        )
        if not answer:
            return ()
        try:
            return read_own(answer, lookup)
        except DrillgenError as error:
            typer.echo(f"  {error}")
            answer = ""
