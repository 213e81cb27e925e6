"""`drillgen difficulty`: how hard each sentence is, and why."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from drillgen.cli.common import (
    Accents,
    Encoding,
    TargetVowel,
    WordLists,
    load_engine,
    passage_of,
    read_accent,
    read_input,
)
from drillgen.errors import InputError, OptionError
from drillgen.options import DrillOptions, Strategy, parse_choice


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("difficulty")(difficulty)


def difficulty(
    files: Annotated[
        list[str] | None, typer.Argument(help="Text files, or - for standard input.")
    ] = None,
    text: Annotated[str | None, typer.Option("--text", help="The text itself.")] = None,
    partial: Annotated[
        str | None,
        typer.Option(
            "--partial",
            help="Score a partial swap instead of the full one. What is swapped first: "
            + ", ".join(Strategy)
            + ".",
        ),
    ] = None,
    rungs: Annotated[
        int | None, typer.Option("--rungs", help="Partial versions of the ladder: 1 to 12.")
    ] = None,
    rung: Annotated[
        int | None,
        typer.Option(
            "--rung",
            help="Which of them, from 1 at the fewest swapped vowels. Default: the highest.",
        ),
    ] = None,
    brief: Annotated[
        bool, typer.Option("--brief", help="One line for each sentence, without the parts.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    target: TargetVowel = "i",
    accent: Accents = "rhotic",
    words: WordLists = None,
    encoding: Encoding = None,
) -> None:
    """Score each sentence from 0 to 100 and say where the work lies."""
    from drillgen.pipeline import make_drill
    from drillgen.prompts.difficulty import Scorer
    from drillgen.scoring import format_scores, mean_total, score_drill, scores_to_data
    from drillgen.swap.targets import parse_target

    if text is not None and files:
        raise OptionError("--text and files don't go together; give one of them")
    if text is None and not files:
        raise InputError("there is no text; name a file, or use - or --text")
    chosen = parse_target(target)
    options = DrillOptions(
        target=chosen.symbol,
        accent=read_accent(accent),
        strategy=parse_choice(Strategy, partial or Strategy.STRESSED, "--partial"),
        rungs=1 if rungs is None else rungs,
    )
    if partial is None and rungs is None and rung is None:
        at = 0
    else:
        at = options.rungs if rung is None else rung
        if not 1 <= at <= options.rungs:
            raise OptionError(f"--rung must be 1 to {options.rungs} (--rungs), not {at}")
    passages = (
        (passage_of(text),)
        if text is not None
        else tuple(read_input(name, encoding) for name in files or ())
    )
    engine = load_engine(words, options.accent)
    scorer = Scorer.load(chosen.symbol)
    scores = [
        sentence
        for passage in passages
        for sentence in score_drill(
            make_drill(passage, options, engine=engine), options, engine, scorer, rung=at
        )
    ]
    if not scores:
        raise InputError("the text has no sentence with a word in it; give at least one word")
    if as_json:
        data = {
            "target": chosen.ipa,
            "version": "partial" if at else "full",
            "strategy": options.strategy.value if at else None,
            "rung": at or None,
            "rungs": options.rungs if at else None,
            "mean": round(mean_total(scores), 3),
            "sentences": scores_to_data(scores),
        }
        typer.echo(json.dumps(data, ensure_ascii=False, indent=2))
    else:
        typer.echo(format_scores(scores, brief=brief), nl=False)
