"""`drillgen voice`: a text in, a spoken model out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.common import check_sayable, report_doubts, stem_of
from drillgen.cli.options import FILES, Discreet, Grading, Output, Texts
from drillgen.cli.output import check_folder
from drillgen.core.errors import OptionError
from drillgen.core.options import parse_choice
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Delivery
from drillgen.core.wording import choose_wording


@dataclass(frozen=True)
class VoiceOutput(Output):
    """Where the voice goes."""

    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="A .mp3, .wav, .flac or .ogg file. Default: NAME-DELIVERY.mp3 here.",
            rich_help_panel=FILES,
        ),
    ] = None


def voice(
    texts: Texts,
    grading: Grading,
    output: VoiceOutput,
    delivery: Annotated[
        str, typer.Option("--delivery", help="chant, inflected or carry-over.")
    ] = Delivery.CHANT.value,
    rung: Annotated[
        int,
        typer.Option(
            "--rung", help="Speak this partial version (1: fewest swaps), not the delivery's own."
        ),
    ] = 0,
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
    discreet: Discreet = False,
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
    passages = texts.passages()
    if len(passages) > 1:
        raise OptionError("voice reads one text at a time", mend="name one file")
    names = {text.delivery: text.name.lower() for text in choose_wording(True).deliveries}
    step = names[options.delivery] if discreet else options.delivery
    if not 0 <= rung <= grading.rungs:
        raise OptionError(f"--rung must be 1 to {grading.rungs} (--rungs), not {rung}")
    step += f"-{rung}" if rung else ""
    path = output.out or Path(f"{stem_of(passages[0])}-{step}.mp3")
    kind = sound_format(path)
    outputs = output.open(texts, grading)
    check_folder(path)
    drill = make_drill(passages[0], grading.options, engine=grading.engine())
    check_sayable([drill])
    report_doubts([drill], listed=False)
    version = next(v for v in drill.versions if v.rung == rung) if rung else None
    groups = tuple(speak_drill(drill, options, Synth.load(), version))
    parts = {path.with_stem(f"{path.stem}-{n:02}"): [g] for n, g in enumerate(groups, 1)}
    parts = parts if split else {path: list(groups)}
    for name in parts:
        outputs.claim(name)
        if captions:
            outputs.claim(name.with_suffix(".vtt"))
    for name, part in parts.items():
        lesson = arrange_lesson(part, options)
        outputs.write(name, encode_sound(lesson.samples, RATE, kind))
        if captions:
            outputs.write(name.with_suffix(".vtt"), write_captions(lesson.cues).encode())
