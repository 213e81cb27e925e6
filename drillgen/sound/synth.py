"""Speech on one flat pitch, by espeak-ng from phonemes that are given to it.

espeak-ng (through the library in the wheel espeakng-loader) reads phonemes in double
square brackets and tells when each begins. With a pitch range of 0 and no
flutter a voice holds one pitch, in steps of about 25 cents; melody.py does the rest.
"""

from __future__ import annotations

import contextlib
import ctypes
from collections.abc import Iterable, Sequence
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple

import numpy as np

from drillgen.core.errors import DrillgenError
from drillgen.core.resources import data_file, read_maps
from drillgen.core.values import Phone
from drillgen.sound.audio import Samples
from drillgen.speech.pronounce.espeak import (
    MNEMONICS,
    TURN,
    open_library,
    set_reader,
    strip_stress,
)

RATE: Final = 22_050
"""Samples per second, as espeak-ng makes them."""

_SCHWA: Final = "@"
_UNVOICED: Final = frozenset({"p", "t", "k", "f", "s", "S", "T", "h", "tS"})
_RATE, _VOLUME, _PITCH, _RANGE = 1, 2, 3, 4
"""Parameters of espeak_SetParameter."""

_PHONEME_EVENT: Final = 7
_PHONEMES_AND_UTF8: Final = 0x101


class Voice(StrEnum):
    """A computer's voice, by its size; drillgen/data/voices/ has them."""

    HIGHER = "higher"
    HIGH = "high"
    LOW = "low"
    LOWER = "lower"

    @property
    def hz(self) -> float:
        """A comfortable pitch of it, where none is asked for: the middle of its scale."""
        lowest, highest = _SPANS[self]
        return float(np.sqrt(lowest * highest))


_SPANS: Final = MappingProxyType(
    {
        Voice.HIGHER: (95.5, 376.0),
        Voice.HIGH: (85.5, 336.6),
        Voice.LOW: (55.5, 218.5),
        Voice.LOWER: (45.5, 179.1),
    }
)
"""The pitch of a voice in Hz at both ends of espeak-ng's scale from 0 to 99, measured with
Praat; the scale is close to geometric. The voices are files of ours, without the waver of
those that come with espeak-ng: they hold a pitch to a cent and always say the same."""


class Speed(StrEnum):
    """How fast the model speaks; a beginner wants it very slow."""

    VERY_SLOW = "very-slow"
    SLOW = "slow"
    STEADY = "steady"
    NATURAL = "natural"


_SPEEDS: Final = MappingProxyType(
    {
        Speed.VERY_SLOW: (80, "::"),
        Speed.SLOW: (80, ":"),
        Speed.STEADY: (80, ""),
        Speed.NATURAL: (135, ""),
    }
)
"""Words per minute as espeak-ng counts, and marks of length for each vowel."""


def speed_near(rate: float) -> Speed:
    """The speed that comes near a number of syllables a second.

    Measured on chants: slow speaks 2.0 of them, steady 2.4, natural 3.8.
    """
    return Speed.SLOW if rate < 2.2 else Speed.STEADY if rate < 3 else Speed.NATURAL


class Sound(NamedTuple):
    """A phone to be said: `stressed` sets espeak-ng's mark before a vowel."""

    phone: Phone
    stressed: bool = False
    ends_word: bool = False


class Speech(NamedTuple):
    """Flat speech and its times."""

    samples: Samples
    """Mono at RATE, from the first sound to the last."""

    starts: tuple[int, ...]
    """The sample at which each sound begins, then the end of the last: one more than sounds."""

    voiced: tuple[bool, ...]
    """Per sound, whether the voice sounds in it."""

    hz: float
    """About the pitch that it has; melody.py measures it."""


class SynthError(DrillgenError):
    """espeak-ng can't speak here, or did not say what it was given."""


class _Event(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_int),
        ("identifier", ctypes.c_uint),
        ("text_position", ctypes.c_int),
        ("length", ctypes.c_int),
        ("milliseconds", ctypes.c_int),
        ("sample", ctypes.c_int),
        ("user_data", ctypes.c_void_p),
        ("name", ctypes.c_char * 8),
    )


_CALLBACK: Final = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(_Event)
)


class Synth:
    """espeak-ng's speech for one process; calls take turns with the reader of words."""

    def __init__(self, library: Any) -> None:
        self._library = library

    @classmethod
    def load(cls) -> Synth:
        """Open the library. EspeakError where the wheel has none for this machine."""
        return cls(open_library())

    def speak(self, sounds: Sequence[Sound], voice: Voice, speed: Speed, hz: float) -> Speech:
        """Say phones on one pitch, as near to `hz` as the voice comes.

        The phones are those of one breath group. SynthError where espeak-ng
        does not say what it was given.
        """
        lowest, highest = _SPANS[voice]
        place = np.log(hz / lowest) / np.log(highest / lowest)
        pitch = round(99 * float(np.clip(place, 0, 1)))
        rate, length = _SPEEDS[speed]
        text = write_phonemes(sounds, length)
        parameters = {_RATE: rate, _PITCH: pitch, _RANGE: 0}
        try:
            samples, starts = self._say(sounds, text, voice, parameters)
        except SynthError:
            # Somebody else in this process may have set the library up without events.
            self._library = open_library()
            samples, starts = self._say(sounds, text, voice, parameters)
        voiced = tuple(name not in _UNVOICED for name in _name_sounds(sounds))
        near = lowest * (highest / lowest) ** (pitch / 99)
        return Speech(samples[starts[0] : starts[-1]], _shift(starts), voiced, near)

    def _say(
        self, sounds: Sequence[Sound], text: bytes, voice: Voice, parameters: dict[int, int]
    ) -> tuple[Samples, tuple[int, ...]]:
        """Samples, and where each sound begins in them. SynthError where one is not there."""
        with TURN:
            samples, events = self._synthesize(text, voice, parameters)
        return samples, _find_starts(sounds, events, len(samples))

    def _synthesize(
        self, text: bytes, voice: Voice, parameters: dict[int, int]
    ) -> tuple[Samples, list[tuple[str, int]]]:
        pieces: list[Any] = []
        events: list[tuple[str, int]] = []

        def receive(wave: Any, count: int, event: Any) -> int:
            if wave and count:
                pieces.append(np.ctypeslib.as_array(wave, (count,)).copy())
            index = 0
            while event[index].type:
                if event[index].type == _PHONEME_EVENT:
                    events.append((event[index].name.decode(), event[index].sample))
                index += 1
            return 0

        library = self._library
        callback = _CALLBACK(receive)
        library.espeak_SetSynthCallback(callback)
        _take_voice(library, data_file(f"voices/{voice}"))
        for number, value in parameters.items():
            library.espeak_SetParameter(number, value, 0)
        library.espeak_Synth(text, len(text) + 1, 0, 1, 0, _PHONEMES_AND_UTF8, None, None)
        set_reader(library)
        if not pieces:
            raise SynthError("espeak-ng said nothing")
        return np.concatenate(pieces) / 32768.0, events


def _take_voice(library: Any, file: Path) -> None:
    """Let a voice speak. espeak-ng takes no path of more than 59 bytes, and ours is longer where
    the program is installed: so the file gets a short name."""

    def take(path: str) -> bool:
        return bool(library.espeak_ng_SetVoiceByFile(ctypes.c_char_p(path.encode())) == 0)

    with file.open("rb") as opened:
        if take(f"/dev/fd/{opened.fileno()}"):
            return
    # No such names on Windows.
    with contextlib.chdir(file.parent):
        if not take(file.name):
            raise SynthError(f"espeak-ng can't read the voice {file.name}")


def _name_sounds(sounds: Iterable[Sound]) -> list[str]:
    """espeak-ng's mnemonics of phones."""
    names = read_maps(MNEMONICS)["say"]
    return [names[sound.phone.symbol] for sound in sounds]


def write_phonemes(sounds: Sequence[Sound], length: str = "") -> bytes:
    """Phones as espeak-ng reads them, `length` after each vowel.

    >>> from drillgen.core.phones import parse_phones
    >>> write_phonemes([Sound(p, p.stress == 1) for p in parse_phones("B IY1 T S")])
    b"[[b|'i:|t|s]]"
    """
    parts = []
    for sound, symbol in zip(sounds, _name_sounds(sounds), strict=True):
        if sound.phone.is_vowel:
            if sound.phone.symbol == "AH" and not sound.stressed:
                symbol = _SCHWA
            symbol = "'" * sound.stressed + symbol + length
        # The bar keeps two phones apart that look like one ("aI3:").
        parts.append(symbol + (" " if sound.ends_word else "|"))
    return f"[[{''.join(parts).strip(' |')}]]".encode()


def _find_starts(
    sounds: Sequence[Sound], events: list[tuple[str, int]], length: int
) -> tuple[int, ...]:
    """The sample at which each sound begins, and the end of the last.

    espeak-ng may put in pauses, and a linking r; what remains stands in order.
    """
    expected = _name_sounds(sounds)
    starts: list[int] = []
    end = length
    for name, sample in events:
        bare = strip_stress(name)[0]
        if bare.startswith("_"):
            end = sample
            continue
        if len(starts) < len(expected) and _is_same(bare, expected[len(starts)]):
            starts.append(sample)
            end = length
    if len(starts) != len(expected):
        raise SynthError(f"espeak-ng left out {expected[len(starts)]} in {' '.join(expected)}")
    return (*starts, max(end, starts[-1] + 1))


def _is_same(name: str, expected: str) -> bool:
    # It may write a variant: "t#" for a flap, "@2" for a schwa, "A@" for "A:", "N" before "k".
    nasals = "nmN"
    return name[:1] == expected[:1] or expected == "V" or {name[:1], expected} <= set(nasals)


def _shift(starts: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(start - starts[0] for start in starts)
