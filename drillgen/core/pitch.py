"""Reference pitch: notes and hertz.

Scientific pitch notation (middle C is C4) in twelve-tone equal temperament
with A4 = 440 Hz, as ISO 16:1975 sets it.
"""

from __future__ import annotations

import math
import re
from typing import Final

from drillgen.core.errors import OptionError
from drillgen.core.values import Pitch

A4_HZ: Final = 440.0
LOWEST_HZ: Final = 50.0
HIGHEST_HZ: Final = 1000.0
"""Outside these a spoken target makes no sense."""

_NAMES: Final = ("C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B")
_STEP: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHIFT: Final = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_NOTE: Final = re.compile(r"([A-Ga-g])([#♯b♭]?)(\d)")
_HERTZ: Final = re.compile(r"(\d+(?:\.\d+)?)\s*(?:hz)?", re.IGNORECASE)


def midi_to_hz(midi: float) -> float:
    """Frequency in Hz of a note number, 69 being A4.

    >>> midi_to_hz(57)
    220.0
    """
    return A4_HZ * math.exp2((midi - 69) / 12)


def hz_to_midi(hz: float) -> float:
    """Note number of a frequency in Hz, with its fraction in semitones."""
    return 69 + 12 * math.log2(hz / A4_HZ)


def pitch_at(hz: float) -> Pitch:
    """The pitch at a frequency in Hz, with its nearest note.

    >>> pitch_at(196).note
    'G3'
    """
    midi = hz_to_midi(hz)
    nearest = round(midi)
    octave, step = divmod(nearest, 12)
    return Pitch(hz, f"{_NAMES[step]}{octave - 1}", 100 * (midi - nearest))


def parse_pitch(text: str, a4: float = A4_HZ) -> Pitch:
    """Read a note ("G3", "F#3", "Bb3") or a frequency ("196", "196 Hz").

    `a4` tunes notes, not frequencies: Hz, 380 to 500. Raises OptionError for
    anything else and outside 50 to 1000 Hz.

    >>> round(parse_pitch("G3").hz, 2)
    196.0
    """
    if not 380 <= a4 <= 500:
        raise OptionError(f"A4 at {a4:g} Hz is no tuning in use; choose 380 to 500 Hz")
    word = text.strip()
    if note := _NOTE.fullmatch(word):
        letter, accidental, octave = note.groups()
        midi = 12 * (int(octave) + 1) + _STEP[letter.upper()] + _SHIFT[accidental]
        hz = midi_to_hz(midi) * a4 / A4_HZ
        name = letter.upper() + {"#": "♯", "b": "♭"}.get(accidental, accidental) + octave
        pitch = Pitch(hz, name, 1200 * math.log2(a4 / A4_HZ))
    elif hertz := _HERTZ.fullmatch(word):
        pitch = pitch_at(float(hertz[1])) if float(hertz[1]) > 0 else Pitch(0.0, "", 0.0)
    else:
        raise OptionError(f"pitch {text!r} is not a note or a frequency", "write G3 or 196")
    if not LOWEST_HZ <= pitch.hz <= HIGHEST_HZ:
        raise OptionError(
            f"pitch {text!r} is {pitch.hz:.0f} Hz", "choose one from 50 to 1000 Hz, such as G3"
        )
    return pitch
