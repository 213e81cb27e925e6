"""`drillgen word`: all there is to know about one word."""

from __future__ import annotations

from typing import Annotated

import typer

from drillgen.cli.common import Accents, TargetVowel, WordLists, load_engine, read_accent
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import InputError


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("word")(word)


def word(
    text: Annotated[str, typer.Argument(metavar="WORD", help="The word, as it is written.")],
    target: TargetVowel = "i",
    accent: Accents = DEFAULT_ACCENT,
    sentence: Annotated[
        str | None,
        typer.Option("--in", help="A sentence: which reading fits there, and its part of speech."),
    ] = None,
    words: WordLists = None,
) -> None:
    """Explain one word: entries, origin, swapped phonemes, respelling, IPA."""
    from drillgen.speech.explain import (
        explain_in_sentence,
        explain_word,
        format_in_sentence,
        format_report,
    )

    if not text.strip():
        raise InputError("there is no word", "give one, as in: drillgen word beautiful")
    engine = load_engine(words, read_accent(accent))
    typer.echo(format_report(explain_word(text, target, engine)), nl=False)
    if sentence is not None:
        from drillgen.speech.prosody.tagger import Tagger

        places = explain_in_sentence(text, sentence, engine, Tagger.load())
        typer.echo(format_in_sentence(places), nl=False)
