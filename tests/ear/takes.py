"""Takes whose answer is known, said by the model voice with slips where we put them."""

from __future__ import annotations

import random
from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from drillgen.core.options import DrillOptions
from drillgen.core.values import Delivery, Drill
from drillgen.sound.ear.listen import RATE, Recording, make_recording
from drillgen.sound.synth import RATE as VOICE_RATE
from drillgen.sound.synth import Speed, Synth, Voice
from drillgen.sound.voice import gather_groups, speak_group
from drillgen.speech.pipeline import make_drill

Samples = npt.NDArray[np.float64]

FERRY = (
    "The ferry leaves at nine, and the harbour is cold. A woman in a brown coat carries a box of "
    "lamps. She asks the captain whether the boat will stop at Norden today. He laughs and points "
    "at the fog. Who would go out in this? Nobody answers, but the box begins to hum."
)


class Take(NamedTuple):
    """A take, and which of its syllables slipped."""

    samples: Samples
    """At VOICE_RATE."""

    slips: tuple[bool, ...]
    """Per vowel of the text."""

    owns: tuple[str, ...]
    """The vowels of the original."""


@cache
def drill_of(text: str) -> Drill:
    """The drill of a text."""
    return make_drill(text, DrillOptions(rungs=0))


@cache
def synth() -> Synth:
    """The model voice."""
    return Synth.load()


def say(
    drill: Drill,
    voice: Voice,
    hz: float,
    *,
    share: float = 0.0,
    seed: int = 0,
    delivery: Delivery = Delivery.CHANT,
    spoken: Delivery | None = None,
    speed: Speed = Speed.STEADY,
    speaker: Synth | None = None,
) -> Take:
    """A take in which a share of the vowels has its own sound instead of the target.

    `spoken`: the melody, where it is not that of the delivery.
    """
    chance = random.Random(seed)
    slips: list[bool] = []
    owns: list[str] = []
    pieces = [np.zeros(VOICE_RATE // 3)]
    full, own = (gather_groups(drill, d) for d in (Delivery.CHANT, Delivery.CARRY_OVER))
    for group, plain in zip(full, own, strict=True):
        sounds = []
        for sound, other in zip(group.sounds, plain.sounds, strict=True):
            if not sound.phone.is_vowel:
                sounds.append(sound)
                continue
            slipped = sound.phone.symbol != other.phone.symbol and chance.random() < share
            slips.append(slipped)
            owns.append(other.phone.symbol)
            sounds.append(other if slipped or delivery is Delivery.CARRY_OVER else sound)
        said = speak_group(
            group._replace(sounds=tuple(sounds)),
            speaker or synth(),
            hz=hz,
            delivery=spoken or delivery,
            voice=voice,
            speed=speed,
        )
        pieces += [0.5 * said.samples, np.zeros(VOICE_RATE // 3)]
    return Take(np.concatenate(pieces), tuple(slips), tuple(owns))


def record(samples: Samples, rate: int = VOICE_RATE) -> Recording:
    """Samples as a take that was read."""
    import parselmouth

    sound = parselmouth.Sound(samples, rate)
    resampled = sound.resample(RATE, 30).values[0] if rate != RATE else samples
    return make_recording(resampled.astype(np.float32), rate)


def add_noise(samples: Samples, decibels: float, seed: int = 1) -> Samples:
    """White noise so many decibels under the speech."""
    level = float(np.sqrt(np.mean(samples[np.abs(samples) > 1e-4] ** 2)))
    noise = np.random.default_rng(seed).normal(0, level * 10 ** (-decibels / 20), len(samples))
    return np.asarray(samples + noise)


def change_tract(samples: Samples, ratio: float) -> Samples:
    """Formants moved by a ratio, pitch as it was (Praat: Change gender)."""
    import parselmouth
    from parselmouth.praat import call

    sound = parselmouth.Sound(samples, VOICE_RATE)
    return np.asarray(call(sound, "Change gender", 75, 500, ratio, 0, 1, 1).values[0])


def bend(samples: Samples, cents: float) -> Samples:
    """Pitch that drifts evenly by so many cents from beginning to end."""
    length = len(samples)
    rate = 2 ** (np.linspace(0, cents, length) / 1200)
    places = np.concatenate([[0.0], np.cumsum(rate)])
    places = places[places < length - 1]
    return np.asarray(np.interp(places, np.arange(length), samples))
