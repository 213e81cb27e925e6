"""A reference tone: steady, soft at both ends, never loud.

Notes are in equal temperament with A4 = 440 Hz (ISO 16:1975), see core/pitch.py.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np

from drillgen.core.errors import OptionError
from drillgen.sound.audio import Samples

RATE: Final = 44_100
"""Samples per second."""

PEAK: Final = 10 ** (-12 / 20)
"""-12 dBFS: leaves room, and startles nobody with headphones on."""

MAX_SECONDS: Final = 600.0

_ATTACK: Final = 0.03
_RELEASE: Final = 0.08
"""Seconds of the raised-cosine fades; shorter ones click."""

_FORMANTS: Final = ((280.0, 60.0), (2250.0, 120.0), (2890.0, 160.0))
"""Hz and bandwidth of a spoken /i/ (Peterson and Barney 1952, men and women between;
from memory): the tone has the colour of the vowel that is practised."""


class Timbre(StrEnum):
    """What the tone sounds like."""

    SINE = "sine"
    """One frequency and nothing else."""

    SOFT = "soft"
    """Harmonics as a soft voice has them: easier to match by ear."""


def make_tone(
    hz: float, seconds: float, timbre: Timbre = Timbre.SOFT, *, rate: int = RATE
) -> Samples:
    """Samples of a tone at `rate` per second, its peak at -12 dBFS.

    `hz` 20 to 4000, `seconds` 0.2 to 600; OptionError outside.
    """
    if not 20 <= hz <= 4000:
        raise OptionError(f"a tone of {hz:g} Hz is no reference; choose 20 to 4000 Hz")
    if not 0.2 <= seconds <= MAX_SECONDS:
        raise OptionError(f"--seconds must be 0.2 to {MAX_SECONDS:g}, not {seconds:g}")
    time = np.arange(round(seconds * rate)) / rate
    wave = np.zeros_like(time)
    for number, level in _harmonics(hz, timbre):
        wave += level * np.sin(2 * np.pi * number * hz * time)
    wave *= _envelope(len(wave), rate)
    return np.asarray(wave * (PEAK / np.abs(wave).max()), dtype=np.float64)


def _harmonics(hz: float, timbre: Timbre) -> list[tuple[int, float]]:
    """Numbers and levels of the partials, up to 5 kHz."""
    if timbre is Timbre.SINE:
        return [(1, 1.0)]
    # A soft voice's source falls by 12 dB an octave; lips radiate 6 dB more upwards.
    return [(n, _resonance(n * hz) / n) for n in range(1, int(5000 / hz) + 1)] or [(1, 1.0)]


def _resonance(hz: float) -> float:
    """Gain of the vowel's resonators in cascade (Fant 1960), 1 at 0 Hz."""
    gain = 1.0
    for centre, width in _FORMANTS:
        numerator = centre**2 + (width / 2) ** 2
        below = (hz - centre) ** 2 + (width / 2) ** 2
        above = (hz + centre) ** 2 + (width / 2) ** 2
        gain *= numerator / float(np.sqrt(below * above))
    return gain


def _envelope(length: int, rate: int) -> Samples:
    """1 with raised-cosine fades at both ends."""
    envelope = np.ones(length)
    for seconds, place in ((_ATTACK, slice(None)), (_RELEASE, slice(None, None, -1))):
        count = min(round(seconds * rate), length // 2)
        fade = 0.5 - 0.5 * np.cos(np.pi * np.arange(count) / count)
        envelope[place][:count] *= fade
    return envelope
