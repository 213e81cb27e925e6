"""`drillgen check`: a recorded take and its text in, what the take shows out."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.cli.common import read_text
from drillgen.cli.options import Documents, GivenTexts, Paper, Pitched, Speech, of_files, option
from drillgen.cli.output import render_sheets
from drillgen.core.errors import InputError, OptionError, OutputError, placed
from drillgen.core.options import parse_choice
from drillgen.core.values import Delivery, Drill

if TYPE_CHECKING:
    from drillgen.practice.takes import TakeRow


@dataclass(frozen=True)
class TakeTexts(GivenTexts):
    """A take, and the text that was read."""

    files: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="TAKE [FILE]",
            help="The recording, then what was read: a text, a drill in JSON or a practice page.",
        ),
    ] = None

    @property
    def take(self) -> Path:
        """The recording."""
        if not self.files:
            raise OptionError("there is no take", "name a sound file, then the text")
        return Path(self.files[0])

    @property
    def read(self) -> GivenTexts:
        """The text without the take."""
        return GivenTexts((self.files or [])[1:], self.text, self.encoding)


def check(
    texts: TakeTexts,
    speech: Speech,
    heading: Pitched,
    paper: Paper,
    output: Documents,
    delivery: Annotated[str, option("chant, inflected or carry-over.")] = Delivery.CHANT.value,
    before: Annotated[Path | None, option("An earlier take of the same text.")] = None,
    history: Annotated[
        Path | None, of_files("A CSV file of measures; this take is added, all are shown.")
    ] = None,
    keep: Annotated[
        bool, of_files("Add the measures to the client's file; all are shown.", "--keep")
    ] = False,
) -> None:
    """Measure a recorded take: vowels that slipped, pitch, inflection, brightness."""
    from drillgen.practice.clients import add_take, read_takes
    from drillgen.practice.takes import format_takes, make_row
    from drillgen.sheets.take import lay_out_take
    from drillgen.sound.ear.check import check_take
    from drillgen.sound.ear.listen import read_take

    client = speech.client if keep else None
    if keep and client is None:
        raise OptionError("--keep needs a client", "name one with --client")
    if keep and history is not None:
        raise OptionError("--keep and --history are two places", "choose one")
    chosen = parse_choice(Delivery, delivery, "--delivery")
    pitch = heading.tone
    drill, discreet = _read_drill(texts.read, speech)
    discreet = discreet or heading.discreet
    outputs = output.open(texts, speech, reads=(before,), notes=client)
    if history is not None and history in (texts.take, before):
        raise OutputError("this run reads it", "choose another name", file=history)
    paths = output.plan(outputs, f"{texts.take.stem}-check")
    past = read_takes(client) if client is not None else _read_history(history)
    report = check_take(
        drill,
        read_take(texts.take),
        chosen,
        target=pitch.hz if pitch else None,
        before=read_take(before) if before else None,
        name=str(texts.take),
    )
    row = make_row(report, datetime.date.today().isoformat())
    rows = (*past, row)
    shown = tuple(row for row in rows if row.delivery == chosen and row.f2)
    document = lay_out_take(
        drill,
        report,
        history=shown if history is not None or client is not None else (),
        title=heading.title,
        discreet=discreet,
    )
    values = ("drillgen-take", 1, "take", report)
    files = render_sheets(paths, document, values, paper.page, discreet=discreet)
    for path, data in files:
        outputs.write(path, data)
    if client is not None:
        add_take(client, row)
        typer.echo(f"added to {client.file}", err=True)
    if history is not None:
        from drillgen.core.files import hold, write_whole

        # Measuring takes its time: another run may have added a row.
        with hold(history):
            past = _read_history(history)
            write_whole(history, format_takes((*past, row)).encode(), private=True)
        typer.echo(f"added to {history}", err=True)


def _read_history(file: Path | None) -> tuple[TakeRow, ...]:
    from drillgen.practice.takes import parse_takes

    if file is None or not file.is_file():
        return ()
    return parse_takes(read_text(file, may_be_empty=True), str(file))


def _read_drill(texts: GivenTexts, speech: Speech) -> tuple[Drill, bool]:
    """The drill of a text or a practice page, or the one in a JSON file that `drillgen sheet`
    wrote; and whether that was neutral. A page or a drill has its own accent and target."""
    from drillgen.speech.pipeline import make_drill

    name = (texts.files or [""])[0]
    discreet = False
    if len(texts.files or []) > 1:
        raise OptionError("a take is of one text", "name one")
    if name.lower().endswith(".json"):
        from drillgen.write.json import load_json

        with placed(name):
            sheet = load_json(read_text(Path(name)), name)
        if len(sheet.drills) != 1:
            raise InputError("a take is of one text", "make a drill of it alone", file=name)
        return sheet.drills[0], sheet.discreet
    if name.lower().endswith((".html", ".htm")):
        from drillgen.write.page import read_page

        page = read_page(read_text(Path(name)))
        if page is None:
            raise InputError("it is no practice page", "give the text that was read", file=name)
        texts = GivenTexts(None, page.text)
        speech = replace(speech, accent=page.accent, target=page.target)
        discreet = page.discreet
    passages = texts.passages()
    drill = make_drill(passages[0], replace(speech.options, rungs=0), engine=speech.engine())
    return drill, discreet
