"""`drillgen voice`: a text in, a spoken model out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from drillgen.cli.common import check_sayable, report_doubts, stem_of
from drillgen.cli.options import Discreet, Grading, Output, Texts, of_out, option
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
        Path | None, of_out("A .mp3, .wav, .flac or .ogg file. Default: NAME-DELIVERY.mp3.")
    ] = None


def voice(
    texts: Texts,
    grading: Grading,
    output: VoiceOutput,
    delivery: Annotated[str, option("chant, inflected or carry-over.")] = Delivery.CHANT.value,
    rung: Annotated[int, option("This partial version (1: fewest swaps).")] = 0,
    pitch: Annotated[str, option("Target pitch: G3 or 196.")] = "G3",
    timbre: Annotated[str, option("higher, high, low or lower.", "--voice")] = "higher",
    speed: Annotated[str, option("very-slow, slow, steady or natural.")] = "slow",
    gap: Annotated[float, option("Time to repeat, in lengths: 0 to 5.")] = 1.0,
    note: Annotated[bool, option("The note before each group.", "--note/--no-note")] = True,
    split: Annotated[bool, option("A numbered file for each breath.", "--split")] = False,
    captions: Annotated[
        bool, option("A .vtt file beside the sound.", "--captions/--no-captions")
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
