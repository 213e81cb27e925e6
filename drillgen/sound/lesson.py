"""A lesson to listen to: note, model, room to repeat; one breath group after the other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from itertools import accumulate
from typing import Final, NamedTuple

import numpy as np

from drillgen.core.errors import InputError, OptionError
from drillgen.core.practice_page import Model, list_read
from drillgen.core.values import Delivery, Drill, Version
from drillgen.sound.audio import SMALL, Samples, encode_sound
from drillgen.sound.synth import RATE, Speed, Synth, Voice
from drillgen.sound.tone import make_tone
from drillgen.sound.voice import Group, SpokenGroup, gather_groups, speak_group

_NOTE_SECONDS: Final = 1.2
_BREATH: Final = 0.5
"""Seconds of silence after a note and before the next group."""

_LEVEL: Final = 10 ** (-6 / 20)


@dataclass(frozen=True, slots=True)
class LessonOptions:
    """How a lesson is spoken."""

    delivery: Delivery = Delivery.CHANT
    hz: float = 196.0
    voice: Voice = Voice.HIGHER
    speed: Speed = Speed.SLOW
    gap: float = 1.0
    """Silence after each group, in lengths of the group: 0 to 5."""

    note: bool = True
    """Whether the note sounds before each group."""

    def __post_init__(self) -> None:
        if not 0 <= self.gap <= 5:
            raise OptionError(f"--gap must be 0 to 5, not {self.gap:g}")


SOUND_KIND: Final = "mp3"
"""What every phone plays."""


def speak_models(groups: Iterable[Group], options: LessonOptions, synth: Synth) -> Iterator[Model]:
    """Breath groups as a practice page plays them, in one delivery."""
    for group in groups:
        vowels = [i for i, sound in enumerate(group.sounds) if sound.phone.is_vowel]
        spoken = _speak(group, options, synth)
        begins = {0, *accumulate(word.sounds for word in group.words)}
        yield Model(
            encode_sound(level_sound(spoken.samples), RATE, SOUND_KIND, SMALL),
            round(len(spoken.samples) / RATE, 3),
            tuple(
                round(spoken.starts[_find_onset(vowels, n, begins)], 3) for n in range(len(vowels))
            ),
        )


def _speak(group: Group, options: LessonOptions, synth: Synth) -> SpokenGroup:
    return speak_group(
        group,
        synth,
        hz=options.hz,
        delivery=options.delivery,
        voice=options.voice,
        speed=options.speed,
    )


def iter_sayable(drills: Iterable[Drill], delivery: Delivery, number: int = -1) -> Iterator[Group]:
    """The breath groups of drills that have a syllable, as a practice page has them, in one
    of the versions that the delivery reads: its own is the last."""
    for drill in drills:
        for group in gather_groups(drill, delivery, list_read(drill, delivery)[number]):
            if any(sound.phone.is_vowel for sound in group.sounds):
                yield group


def _find_onset(vowels: list[int], number: int, begins: set[int]) -> int:
    """The sound with which a syllable begins: that of its word, or one consonant before
    its vowel."""
    at = vowels[number]
    before = vowels[number - 1] if number else -1
    words = [i for i in range(before + 1, at + 1) if i in begins]
    if words:
        return words[0]
    return at - 1 if at - 1 > before else at


class Cue(NamedTuple):
    """What is heard, or to be repeated, in a stretch of a lesson."""

    start: float
    """Seconds from the beginning."""

    end: float
    text: str
    words: tuple[tuple[float, str], ...] = ()
    """When each printed word begins; empty where the client repeats."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """Sound with its captions."""

    samples: Samples
    """Mono at `synth.RATE`, peak at -6 dBFS."""

    cues: tuple[Cue, ...]


def speak_drill(
    drill: Drill, options: LessonOptions, synth: Synth, version: Version | None = None
) -> Iterator[SpokenGroup]:
    """The breath groups of a version, that of the delivery if none is given, spoken.
    InputError where nothing is said."""
    groups = gather_groups(drill, options.delivery, version)
    if not groups:
        raise InputError(
            "there is nothing in the text that is said", mend="give at least one word"
        )
    for group in groups:
        yield _speak(group, options, synth)


def arrange_lesson(groups: Iterable[SpokenGroup], options: LessonOptions) -> Lesson:
    """Put note, model and room to repeat in order."""
    note = make_tone(options.hz, _NOTE_SECONDS, rate=RATE) if options.note else np.zeros(0)
    breath = np.zeros(round(_BREATH * RATE))
    pieces: list[Samples] = []
    cues: list[Cue] = []
    length = 0

    def add(piece: Samples) -> float:
        nonlocal length
        pieces.append(piece)
        length += len(piece)
        return length / RATE

    for group in groups:
        if options.note:
            add(note)
        start = add(breath)
        end = add(level_sound(group.samples))
        words = tuple((start + word.start, word.text) for word in group.words)
        cues.append(Cue(start, end, group.text, words))
        if options.gap:
            again = add(np.zeros(round(options.gap * len(group.samples))))
            cues.append(Cue(end, again, group.text))
    return Lesson(np.concatenate(pieces), tuple(cues))


def level_sound(samples: Samples) -> Samples:
    """A group at the same peak as the others, with a few milliseconds of fade."""
    peak = float(np.abs(samples).max()) or 1.0
    result = samples * (_LEVEL / peak)
    ramp = np.linspace(0, 1, min(220, len(result)))
    result[: len(ramp)] *= ramp
    result[len(result) - len(ramp) :] *= ramp[::-1]
    return result


def write_captions(cues: Iterable[Cue]) -> str:
    """WebVTT (W3C): a cue for each group with the time of each word, in italics where the
    client repeats.

    >>> print(write_captions([Cue(0.5, 1.25, "see tee", ((0.5, "see"), (0.8, "tee")))]))
    WEBVTT
    <BLANKLINE>
    00:00:00.500 --> 00:00:01.250
    see <00:00:00.800>tee
    <BLANKLINE>
    """
    blocks = ["WEBVTT\n"]
    for cue in cues:
        text = f"<i>{escape(cue.text, quote=False)}</i>"
        if cue.words:
            first, *rest = ((time, escape(word, quote=False)) for time, word in cue.words)
            text = " ".join([first[1], *(f"<{_clock(time)}>{word}" for time, word in rest)])
        blocks.append(f"{_clock(cue.start)} --> {_clock(cue.end)}\n{text}\n")
    return "\n".join(blocks)


def _clock(seconds: float) -> str:
    whole, thousandths = divmod(round(seconds * 1000), 1000)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}.{thousandths:03}"
