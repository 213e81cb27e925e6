"""`drillgen tone`: a note in, a reference tone out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.common import check_folder
from drillgen.cli.output import write_output
from drillgen.core.options import parse_choice
from drillgen.core.pitch import A4_HZ, parse_pitch


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("tone")(tone)


def tone(
    note: Annotated[str, typer.Argument(help="G3, F#3, Bb3, or a frequency such as 196.")] = "G3",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", help="A .wav, .flac, .mp3 or .ogg file. Default: NOTE.wav here."
        ),
    ] = None,
    seconds: Annotated[float, typer.Option("--seconds", help="Length: 0.2 to 600.")] = 4.0,
    timbre: Annotated[str, typer.Option("--timbre", help="soft (like a voice) or sine.")] = "soft",
    a4: Annotated[float, typer.Option("--a4", help="Tuning of A4 in Hz: 380 to 500.")] = A4_HZ,
) -> None:
    """Write a steady reference tone as a sound file."""
    from drillgen.sound.audio import encode_sound, sound_format
    from drillgen.sound.tone import RATE, Timbre, make_tone

    colour = parse_choice(Timbre, timbre, "--timbre")
    pitch = parse_pitch(note, a4)
    path = out or Path(f"{pitch.note.replace('♯', 's').replace('♭', 'b')}.wav")
    kind = sound_format(path)
    check_folder(path)
    write_output(path, encode_sound(make_tone(pitch.hz, seconds, colour), RATE, kind))
