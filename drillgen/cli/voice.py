"""`drillgen voice`: a text in, a spoken model out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.common import (
    Accents,
    Encoding,
    Files,
    GivenText,
    TargetVowel,
    WordLists,
    check_folder,
    load_engine,
    read_accent,
    read_passages,
    stem_of,
)
from drillgen.cli.output import write_output
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions, parse_choice
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Delivery


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("voice")(voice)


def voice(
    files: Files = None,
    text: GivenText = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="A .mp3, .wav, .flac or .ogg file. Default: NAME-DELIVERY.mp3 here.",
        ),
    ] = None,
    delivery: Annotated[
        str, typer.Option("--delivery", help="chant, inflected or carry-over.")
    ] = Delivery.CHANT.value,
    pitch: Annotated[str, typer.Option("--pitch", help="Target pitch: G3 or 196.")] = "G3",
    timbre: Annotated[str, typer.Option("--voice", help="higher, high, low or lower.")] = "higher",
    speed: Annotated[
        str, typer.Option("--speed", help="very-slow, slow, steady or natural.")
    ] = "slow",
    gap: Annotated[
        float,
        typer.Option("--gap", help="Silence to repeat in, in lengths of the group: 0 to 5."),
    ] = 1.0,
    note: Annotated[
        bool, typer.Option("--note/--no-note", help="The note before each group.")
    ] = True,
    split: Annotated[
        bool, typer.Option("--split", help="One file for each breath group, numbered.")
    ] = False,
    captions: Annotated[
        bool, typer.Option("--captions/--no-captions", help="A .vtt file beside the sound.")
    ] = True,
    target: TargetVowel = "i",
    accent: Accents = DEFAULT_ACCENT,
    words: WordLists = None,
    encoding: Encoding = None,
) -> None:
    """Speak a text as a model to repeat: a computer's voice, a guide to pitch and timing."""
    from drillgen.sound.audio import encode_sound, sound_format
    from drillgen.sound.lesson import LessonOptions, arrange_lesson, speak_drill, write_captions
    from drillgen.sound.synth import RATE, Speed, Synth, Voice
    from drillgen.speech.pipeline import make_drill

    options = LessonOptions(
        parse_choice(Delivery, delivery, "--delivery"),
        parse_pitch(pitch).hz,
        parse_choice(Voice, timbre, "--voice"),
        parse_choice(Speed, speed, "--speed"),
        gap,
        note,
    )
    passages = read_passages(files, text, encoding)
    if len(passages) > 1:
        raise OptionError("voice reads one text at a time", mend="name one file")
    path = out or Path(f"{stem_of(passages[0])}-{options.delivery}.mp3")
    kind = sound_format(path)
    check_folder(path)
    chosen = DrillOptions(target=target, accent=read_accent(accent), rungs=0)
    drill = make_drill(passages[0], chosen, engine=load_engine(words, chosen.accent))
    groups = tuple(speak_drill(drill, options, Synth.load()))
    for number, part in enumerate([[g] for g in groups] if split else [groups], 1):
        lesson = arrange_lesson(part, options)
        name = path.with_stem(f"{path.stem}-{number:02}") if split else path
        write_output(name, encode_sound(lesson.samples, RATE, kind))
        if captions:
            write_output(name.with_suffix(".vtt"), write_captions(lesson.cues).encode())
