"""What a practice page plays before the client's turn: a computer's voice, or the teacher's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np

from drillgen.core.practice_page import Model, ModelRows, Models, list_read
from drillgen.core.values import Delivery, Worksheet
from drillgen.sound.audio import SMALL, Samples, encode_sound
from drillgen.sound.lesson import (
    SOUND_KIND,
    LessonOptions,
    iter_sayable,
    level_sound,
    speak_models,
)
from drillgen.sound.synth import RATE, Synth, Voice, speed_near

SHORTEST: Final = 0.2
LONGEST: Final = 30.0
"""Seconds of a take of one breath group."""


class TakePlace(NamedTuple):
    """The breath group that a take is of."""

    delivery: Delivery
    number: int
    """Through all drills, from 0."""


class SayableGroup(NamedTuple):
    """A breath group to record."""

    text: str
    original: str


def list_groups(sheet: Worksheet) -> dict[Delivery, tuple[SayableGroup, ...]]:
    """The breath groups that a practice page has, in order, by delivery."""
    texts = {d: [group.text for group in iter_sayable(sheet.drills, d)] for d in Delivery}
    originals = texts[Delivery.CARRY_OVER]
    return {delivery: tuple(map(SayableGroup, row, originals)) for delivery, row in texts.items()}


def speak_page(
    sheet: Worksheet,
    voice: Voice,
    rate: float,
    synth: Synth,
    deliveries: Iterable[Delivery] = tuple(Delivery),
) -> dict[Delivery, ModelRows]:
    """The models of a page at about the pacer's speed (syllables a second)."""
    hz = sheet.pitch.hz if sheet.pitch else voice.hz

    def speak(delivery: Delivery) -> Iterator[tuple[Model, ...]]:
        options = LessonOptions(delivery, hz, voice, speed_near(rate))
        for number in range(len(list_read(sheet.drills[0], delivery))):
            groups = iter_sayable(sheet.drills, delivery, number)
            yield tuple(speak_models(groups, options, synth))

    return {delivery: tuple(speak(delivery)) for delivery in deliveries}


def mix_takes(models: Models, takes: Mapping[TakePlace, Samples]) -> Models:
    """Takes (mono at `synth.RATE`) in place of the models of their breath groups, in the
    delivery's own version.

    When a syllable of a take begins isn't known: the model's own times are stretched to
    the length of the take. ValueError for a take of a group that there is none of.
    """
    mixed = {delivery: list(rows[-1]) for delivery, rows in models.items()}
    for (delivery, number), samples in takes.items():
        if not 0 <= number < len(mixed.get(delivery, ())):
            raise ValueError(f"there is no group {number} of {delivery}")
        model = mixed[delivery][number]
        seconds = round(len(samples) / RATE, 3)
        mixed[delivery][number] = replace_sound(model, samples, seconds)
    return MappingProxyType(
        {delivery: (*models[delivery][:-1], tuple(row)) for delivery, row in mixed.items()}
    )


def replace_sound(model: Model, samples: Samples, seconds: float) -> Model:
    """A model with other samples, its syllables as far along as before."""
    longer = seconds / model.seconds
    return Model(
        encode_sound(level_sound(samples), RATE, SOUND_KIND, SMALL),
        seconds,
        tuple(round(time * longer, 3) for time in model.syllables),
        computer=False,
    )


def read_take(data: bytes) -> Samples | None:
    """Samples of a take that was sent as 16-bit little-endian mono at `synth.RATE`; None
    where it is too short or long."""
    samples = np.frombuffer(data[: len(data) // 2 * 2], "<i2").astype(np.float64) / 32768
    return samples if SHORTEST <= len(samples) / RATE <= LONGEST else None
