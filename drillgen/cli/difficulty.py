"""`drillgen difficulty`: how hard each sentence is, and why."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from drillgen.cli.common import (
    Accents,
    Encoding,
    GivenFiles,
    GivenText,
    Locales,
    TargetVowel,
    WordLists,
    load_engine,
    read_texts,
)
from drillgen.cli.output import read_options
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import InputError, OptionError
from drillgen.core.options import Strategy


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("difficulty")(difficulty)


def difficulty(
    files: GivenFiles = None,
    text: GivenText = None,
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
    accent: Accents = DEFAULT_ACCENT,
    locale: Locales = "",
    words: WordLists = None,
    encoding: Encoding = None,
) -> None:
    """Score each sentence from 0 to 100 and say where the work lies."""
    from drillgen.core.accents import load_accent
    from drillgen.corpus.difficulty import Scorer
    from drillgen.corpus.scoring import format_scores, mean_total, score_drill, scores_to_data
    from drillgen.speech.pipeline import make_drill
    from drillgen.speech.swap.targets import parse_target

    passages = read_texts(files, text, encoding)
    options = read_options(
        target, accent, partial or Strategy.STRESSED, 1 if rungs is None else rungs, locale
    )
    profile = load_accent(options.accent)
    chosen = parse_target(target, profile)
    if partial is None and rungs is None and rung is None:
        at = 0
    else:
        at = options.rungs if rung is None else rung
        if not 1 <= at <= options.rungs:
            raise OptionError(f"--rung must be 1 to {options.rungs} (--rungs), not {at}")
    engine = load_engine(words, options.accent)
    scorer = Scorer.load(chosen.symbol, accent=profile)
    scores = [
        sentence
        for passage in passages
        for sentence in score_drill(
            make_drill(passage, options, engine=engine), options, engine, scorer, rung=at
        )
    ]
    if not scores:
        raise InputError("the text has no sentence with a word in it", "give at least one word")
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
