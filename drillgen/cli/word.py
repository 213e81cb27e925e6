"""`drillgen word`: all there is to know about one word."""

from __future__ import annotations

from typing import Annotated

import typer

from drillgen.cli.common import Accents, TargetVowel, WordLists, load_engine, read_accent
from drillgen.errors import InputError


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("word")(word)


def word(
    text: Annotated[str, typer.Argument(metavar="WORD", help="The word, as it is written.")],
    target: TargetVowel = "i",
    accent: Accents = "rhotic",
    words: WordLists = None,
) -> None:
    """Explain one word: entries, origin, swapped phonemes, respelling, IPA."""
    from drillgen.words import explain_word, format_report

    if not text.strip():
        raise InputError("there is no word; give one, as in: drillgen word beautiful")
    engine = load_engine(words, read_accent(accent))
    typer.echo(format_report(explain_word(text, target, engine)), nl=False)
