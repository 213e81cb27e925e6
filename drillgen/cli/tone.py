"""`drillgen tone`: a note in, a reference tone out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.options import Output, of_out, option
from drillgen.core.options import parse_choice
from drillgen.core.pitch import A4_HZ, parse_pitch


@dataclass(frozen=True)
class ToneOutput(Output):
    """Where the tone goes."""

    out: Annotated[
        Path | None, of_out("A .wav, .flac, .mp3 or .ogg file. Default: NOTE.wav here.")
    ] = None


def tone(
    output: ToneOutput,
    pitch: Annotated[
        str, typer.Argument(metavar="[NOTE]", help="G3, F#3, Bb3, or a frequency such as 196.")
    ] = "G3",
    seconds: Annotated[float, option("Length: 0.2 to 600.")] = 4.0,
    timbre: Annotated[str, option("soft (like a voice) or sine.")] = "soft",
    a4: Annotated[float, option("Tuning of A4 in Hz: 380 to 500.")] = A4_HZ,
) -> None:
    """Write a steady reference tone as a sound file."""
    from drillgen.sound.audio import encode_sound, sound_format
    from drillgen.sound.tone import RATE, Timbre, make_tone

    colour = parse_choice(Timbre, timbre, "--timbre")
    tuned = parse_pitch(pitch, a4)
    path = output.out or Path(f"{tuned.note.replace('♯', 's').replace('♭', 'b')}.wav")
    kind = sound_format(path)
    outputs = output.open()
    outputs.claim(path)
    outputs.write(path, encode_sound(make_tone(tuned.hz, seconds, colour), RATE, kind))
