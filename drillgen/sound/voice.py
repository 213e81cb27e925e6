"""A model voice for any drill: each breath group spoken, and where its words are in time.

The chant keeps one pitch. The inflected delivery moves around it as the sheet says: beats
lift the voice, and the nucleus begins the tune (stylised after O'Connor and Arnold,
Intonation of Colloquial English, 1973, from memory; the sizes are common practice).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from drillgen.core.practice_page import list_read
from drillgen.core.values import (
    Delivery,
    Drill,
    Grade,
    Line,
    Phone,
    Phrase,
    Pronunciation,
    Tune,
    Version,
)
from drillgen.sound.audio import Samples
from drillgen.sound.melody import Contour, bend_pitch, tune_flat
from drillgen.sound.synth import RATE, Sound, Speech, Speed, Synth, Voice

_SLOPE: Final = (1.5, -1.5)
"""Semitones around the target at the first and the last syllable: a group declines."""

_BEAT: Final = 2.0
"""Semitones by which a beat stands out."""

_NEAR: Final = 1 / 24
"""Octaves within which a voice is tuned as a whole: a quarter tone, more than its steps."""

_TUNES: Final = {Tune.FALL: (4.0, -4.0), Tune.RISE: (-2.0, 5.0), Tune.LEVEL: (2.0, 1.5)}
"""Semitones at the nucleus and at the end of the group."""


class GroupWord(NamedTuple):
    """A printed word of a breath group."""

    text: str
    sounds: int
    """How many sounds it has."""


class Group(NamedTuple):
    """A breath group, ready to be said."""

    text: str
    """As it is printed, in one line."""

    words: tuple[GroupWord, ...]
    sounds: tuple[Sound, ...]
    grades: tuple[Grade, ...]
    """Per sound; consonants have none."""

    tune: Tune


class SpokenWord(NamedTuple):
    """A word in time."""

    text: str
    start: float
    """Seconds from the beginning of its group."""

    end: float


class SpokenGroup(NamedTuple):
    """A breath group that has been said."""

    text: str
    samples: Samples
    """Mono at `synth.RATE`."""

    words: tuple[SpokenWord, ...]
    starts: tuple[float, ...]
    """Seconds at which each sound begins, then the end of the last."""


def gather_groups(
    drill: Drill, delivery: Delivery, version: Version | None = None
) -> tuple[Group, ...]:
    """The breath groups of a version, that of the delivery if none is given; silent ones
    left out."""
    chosen = version or list_read(drill, delivery)[-1]
    rows = zip(drill.phrases, chosen.lines, drill.readings, strict=True)
    groups = (_make_group(phrase, line, said, drill.target) for phrase, line, said in rows)
    return tuple(group for group in groups if group.sounds)


def _make_group(
    phrase: Phrase, line: Line, readings: tuple[tuple[Pronunciation, ...], ...], target: str
) -> Group:
    words: list[GroupWord] = []
    sounds: list[Sound] = []
    grades: list[Grade] = []
    rows = zip(line.cells, readings, phrase.grades, strict=True)
    for cell, said, levels in rows:
        before = len(sounds)
        replaced = (cell and cell.replaced) or ((),) * len(said)
        for reading, grade, changed in zip(said, levels, replaced, strict=True):
            for sound, level in _say_word(reading, grade, target, changed):
                sounds.append(sound)
                grades.append(level)
        if cell is not None and len(sounds) > before:
            words.append(GroupWord(cell.text, len(sounds) - before))
    printed = "".join(
        cell.text if cell else token.text
        for token, cell in zip(phrase.tokens, line.cells, strict=True)
    )
    return Group(
        " ".join(printed.split()), tuple(words), tuple(sounds), tuple(grades), phrase.tune
    )


def _say_word(
    reading: Pronunciation, grade: Grade, target: str, replaced: tuple[int, ...]
) -> Iterator[tuple[Sound, Grade]]:
    """The sounds of a word with the grade of each; its main syllable carries the word's."""
    phones = reading.phones
    vowels = [i for i, phone in enumerate(phones) if phone.is_vowel]
    main = next((i for i in vowels if phones[i].stress == 1), vowels[0] if vowels else -1)
    for index, phone in enumerate(phones):
        level = grade if index == main else Grade.NONE
        said = Phone(target, phone.stress) if index in replaced else phone
        yield Sound(said, level is not Grade.NONE, index + 1 == len(phones)), level


def speak_group(
    group: Group, synth: Synth, *, hz: float, delivery: Delivery, voice: Voice, speed: Speed
) -> SpokenGroup:
    """Say a breath group around a pitch in Hz."""
    speech = synth.speak(group.sounds, voice, speed, hz)
    flat = delivery is Delivery.CHANT
    if flat and abs(np.log2(speech.hz / hz)) < _NEAR:
        speech = tune_flat(speech, hz)
        samples = speech.samples
    else:
        contour: Contour = (lambda _: hz) if flat else make_contour(group, speech, hz)
        samples = bend_pitch(speech, contour)
    starts = tuple(start / RATE for start in speech.starts)
    return SpokenGroup(group.text, samples, tuple(_time_words(group, starts)), starts)


def make_contour(group: Group, speech: Speech, hz: float) -> Contour:
    """The melody of a group around `hz`: Hz over seconds."""
    vowels = [i for i, sound in enumerate(group.sounds) if sound.phone.is_vowel]
    if not vowels:
        return lambda _: hz
    spans = [(speech.starts[i] / RATE, speech.starts[i + 1] / RATE) for i in vowels]
    grades = [group.grades[i] for i in vowels]
    nucleus = grades.index(Grade.NUCLEUS) if Grade.NUCLEUS in grades else len(vowels) - 1
    slope = np.linspace(*_SLOPE, max(nucleus, 1) + 1)
    times: list[float] = []
    heights: list[float] = []
    for place in range(nucleus):
        start, end = spans[place]
        times.append((start + end) / 2)
        heights.append(float(slope[place]) + _BEAT * (grades[place] is Grade.BEAT))
    top, final = _TUNES[group.tune]
    start, end = spans[nucleus]
    finish = spans[-1][1]
    # With a tail the turn is done when the nucleus ends; the tail stays low, or climbs on.
    turn = end if group.tune is Tune.FALL and nucleus + 1 < len(vowels) else finish
    times += [start + 0.25 * (end - start), turn, max(finish, turn) + 0.01]
    heights += [top, final, final]
    return lambda time: hz * float(np.exp2(np.interp(time, times, heights) / 12))


def _time_words(group: Group, starts: tuple[float, ...]) -> Iterator[SpokenWord]:
    bounds = np.cumsum([0, *(word.sounds for word in group.words)])
    for word, (first, last) in zip(group.words, pairwise(bounds), strict=True):
        yield SpokenWord(word.text, starts[first], starts[last])
