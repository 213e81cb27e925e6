"""`drillgen page`: a text in, a practice page out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from drillgen.cli.common import check_sayable, note_texts, report_doubts, report_rungs, stem_of
from drillgen.cli.options import Grading, Output, Practice, Texts, of_out, option
from drillgen.cli.output import STANDARD_OUTPUT
from drillgen.core.errors import InputError, OptionError
from drillgen.core.values import Drill, Passage, Worksheet

if TYPE_CHECKING:
    from drillgen.core.practice_page import Models

MAX_WORDS: Final = 3_000
"""A phone shows this much without a pause; nobody practises more at a time."""


@dataclass(frozen=True)
class PageOutput(Output):
    """Where the page goes."""

    out: Annotated[
        Path | None, of_out("A .html file, or - to print. Default: NAME-practice.html.")
    ] = None

    def name(self, passages: tuple[Passage, ...]) -> Path:
        """The file, or - for standard output."""
        out = self.out
        if out is None or out.is_dir():
            return (out or Path()) / f"{stem_of(passages[0])}-practice.html"
        if out != STANDARD_OUTPUT and out.suffix.lower() not in (".html", ".htm"):
            problem = f"--out {str(out)!r} is not a web page"
            raise OptionError(problem, "name a file that ends in .html")
        return out


def page(
    texts: Texts,
    grading: Grading,
    practice: Practice,
    output: PageOutput,
    rate: Annotated[float, option("Speed of the pacer in syllables per second: 0.5 to 4.")] = 1.5,
    timbre: Annotated[
        str,
        option("A computer speaks each line first: higher, high, low, lower, or none.", "--voice"),
    ] = "none",
) -> None:
    """Make a practice page: one HTML file to send home, which works on a phone, offline."""
    options, head = grading.options, practice.head
    passages = texts.passages()
    path = output.name(passages)
    outputs = output.open(texts, grading, notes=grading.client)
    outputs.claim(path)

    from drillgen.sheets.content import drop_idle_rungs
    from drillgen.sheets.practice_page import make_practice_page
    from drillgen.speech.pipeline import make_drill
    from drillgen.write.page import render_page

    engine = grading.engine()
    drills = tuple(make_drill(passage, options, engine=engine) for passage in passages)
    check_sayable(drills)
    _check_length(drills)
    title = head.title or (passages[0].title if len(passages) == 1 else "")
    # Several texts share their rungs.
    shown = drills if len(drills) > 1 else tuple(map(drop_idle_rungs, drills))
    sheet = replace(head, drills=shown, title=title)
    models = _speak(sheet, timbre, rate) if timbre != "none" else {}
    content = make_practice_page(sheet, rate=rate, models=models)
    outputs.write(path, render_page(content).encode())
    report_rungs(drills)
    report_doubts(drills, listed=False)
    note_texts(grading.client, passages)


def _speak(sheet: Worksheet, timbre: str, rate: float) -> Models:
    from drillgen.core.options import parse_choice
    from drillgen.sound.models import speak_page
    from drillgen.sound.synth import Synth, Voice

    return speak_page(sheet, parse_choice(Voice, timbre, "--voice"), rate, Synth.load())


def _check_length(drills: tuple[Drill, ...]) -> None:
    said = sum(len(reading) for drill in drills for row in drill.readings for reading in row)
    if said > MAX_WORDS:
        raise InputError(
            f"{said} words are too many for one page (at most {MAX_WORDS})", "split the text"
        )
