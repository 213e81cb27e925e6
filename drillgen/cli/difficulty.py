"""`drillgen difficulty`: how hard each sentence is, and why."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from drillgen.cli.options import AsJson, GivenTexts, Speech, option
from drillgen.cli.output import print_json, print_text
from drillgen.core.errors import InputError, OptionError
from drillgen.core.options import Strategy, parse_choice


def difficulty(
    texts: GivenTexts,
    speech: Speech,
    partial: Annotated[
        str | None,
        option(
            "Score a partial swap instead of the full one. What is swapped first: "
            + ", ".join(Strategy)
            + "."
        ),
    ] = None,
    rungs: Annotated[int | None, option("Partial versions of the ladder: 1 to 12.")] = None,
    rung: Annotated[
        int | None,
        option("Which of them, from 1 at the fewest swapped vowels. Default: the highest."),
    ] = None,
    parts: Annotated[
        bool, option("Under each sentence the parts of its score.", "--parts/--brief")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Score each sentence from 0 to 100 and say where the work lies."""
    from drillgen.core.accents import load_accent
    from drillgen.corpus.difficulty import Scorer
    from drillgen.corpus.scoring import format_scores, mean_total, score_drill, scores_to_data
    from drillgen.speech.pipeline import make_drill
    from drillgen.speech.swap.targets import parse_target

    passages = texts.passages()
    strategy = parse_choice(Strategy, partial or Strategy.STRESSED, "--partial")
    ladder = 1 if rungs is None else rungs
    options = replace(speech.options, strategy=strategy, rungs=ladder)
    profile = load_accent(options.accent)
    chosen = parse_target(options.target, profile)
    if partial is None and rungs is None and rung is None:
        at = 0
    else:
        at = options.rungs if rung is None else rung
        if not 1 <= at <= options.rungs:
            raise OptionError(f"--rung must be 1 to {options.rungs} (--rungs), not {at}")
    engine = speech.engine()
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
        print_json(data)
    else:
        print_text(format_scores(scores, brief=not parts))
