"""`drillgen word`: all there is to know about one word."""

from __future__ import annotations

from typing import Annotated

import typer

from drillgen.cli.options import Speech, option
from drillgen.cli.output import print_text
from drillgen.core.errors import InputError


def word(
    text: Annotated[str, typer.Argument(metavar="WORD", help="The word, as it is written.")],
    speech: Speech,
    sentence: Annotated[
        str | None, option("A sentence: which reading fits there, and its part of speech.", "--in")
    ] = None,
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
    engine = speech.engine()
    report = format_report(explain_word(text, speech.target, engine))
    if sentence is not None:
        from drillgen.speech.prosody.tagger import Tagger

        places = explain_in_sentence(text, sentence, engine, Tagger.load())
        report += format_in_sentence(places)
    print_text(report)
