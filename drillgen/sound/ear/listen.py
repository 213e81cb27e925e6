"""Read a take: one channel at 16 kHz, and how loud, noisy and clipped it is.

A take is only read; nothing of it is kept, and no part of it is written anywhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from drillgen.core.errors import InputError

RATE: Final = 16_000
"""Samples per second that the acoustic model hears."""

LONGEST: Final = 1_800.0
SHORTEST: Final = 1.0
"""Seconds of a take."""

_CONTAINERS: Final = "mov,matroska,ogg,mp3,aac,caf,amr,asf,avi,mpegts,wav,w64,flac,aiff,au"
"""What is opened, by the names of libav's readers; "mov" is M4A, MP4, 3GP."""

_HOP: Final = 160
"""Samples of a frame of the loudness curve: 10 ms."""

_QUIET: Final = -60.0
"""Speech level in dB of full scale below which nothing can be measured."""

_SPECTRUM: Final = 512
"""Samples of a spectrum in which tones are looked for."""

_APART, _ALIKE, _PART = 8, 0.99, 6000
"""How many frames apart spectra are compared, from which cosine on they are alike, and frames
that are looked at in one go."""

_LONG_REST: Final = 0.5
"""Seconds of a rest that is shortened for the recogniser."""

_EDGE: Final = 10
"""Frames of a rest that are kept at each side."""

Samples = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A take as the ear works with it."""

    samples: Samples
    """Mono at RATE, -1 to 1."""

    rate: int
    """Samples per second of the file."""

    levels: Samples
    """Loudness in dB of full scale, per 10 ms."""

    speech_level: float
    """Root mean square of the speech, of full scale."""

    noise_gap: float
    """Decibels between speech and what is heard in its pauses."""

    clipped: float
    """Share of the louder samples within a fifth of the peak: tops that were cut off stay flat,
    though another rate or coding has rounded them."""

    @property
    def seconds(self) -> float:
        """Its length."""
        return len(self.samples) / RATE


def load_parselmouth() -> Any:
    """The measuring library. InputError, with the mend, where it is not installed."""
    try:
        import parselmouth
    except ImportError:
        raise InputError(
            "checking a take needs praat-parselmouth", "pip install 'drillgen[ear]'"
        ) from None
    return parselmouth


def read_take(source: Path | BinaryIO, name: str = "", longest: float = LONGEST) -> Recording:
    """Read a sound file, or an open one. InputError where it holds no speech to measure.

    `name` is what messages call it; a path's own as a rule. `longest` is in seconds.
    """
    try:
        import av
    except ImportError:
        raise InputError("checking a take needs av", "pip install 'drillgen[ear]'") from None
    path = name or str(source)
    if isinstance(source, Path) and not source.is_file():
        raise InputError("there is no such file", "check its name", file=path)
    held, rate = bytearray(), RATE
    problem = "no sound that can be read"
    # Lists of other files or addresses, which libav would open too, are no takes.
    options = {"format_whitelist": _CONTAINERS}
    try:
        with av.open(source, "r", options=options, metadata_errors="ignore") as container:
            if not container.streams.audio:
                problem = "a video or picture without sound"
                raise ValueError
            resampler = av.AudioResampler("flt", "mono", RATE)
            for frame in container.decode(container.streams.audio[0]):
                rate = frame.sample_rate
                problem = f"the file is broken after {len(held) / 4 / RATE:.1f} seconds"
                held += b"".join(part.to_ndarray().tobytes() for part in resampler.resample(frame))
                if len(held) > longest * RATE * 4:
                    limit = f"{longest / 60:.0f} minutes"
                    raise InputError(f"the take is longer than {limit}", "cut it", file=path)
    except (av.FFmpegError, ValueError):
        mend = "record it again, or save it as WAV, FLAC, M4A, MP3 or OGG"
        raise InputError(problem, mend, file=path) from None
    # A file of floating point numbers may hold what is no number, or no sound.
    samples = np.nan_to_num(np.frombuffer(held, np.float32), posinf=0, neginf=0).clip(-10, 10)
    if len(samples) < SHORTEST * RATE:
        raise InputError("the take is shorter than a second", "record the whole text", file=path)
    return make_recording(samples, rate, path)


def make_recording(samples: Samples, rate: int, name: str = "the take") -> Recording:
    """A take from samples at RATE. InputError where it holds no speech."""
    frames = samples[: len(samples) // _HOP * _HOP].reshape(-1, _HOP)
    power = np.einsum("ij,ij->i", frames, frames).astype(np.float64) / _HOP
    # Three frames make one level: a single one swings with each glottal pulse.
    power = np.convolve(power, np.ones(3) / 3, mode="same")
    levels = 10 * np.log10(power + 1e-12)
    top = float(np.percentile(levels, 95))
    if top < _QUIET:
        raise InputError(
            "the take is silent or far too quiet", "turn the microphone up", file=name
        )
    loud = levels > top - 15
    floor = float(np.percentile(levels, 5))
    speech = float(np.sqrt(power[loud].mean()))
    sizes = np.abs(samples)
    sounding = sizes[sizes > 0.1 * np.percentile(sizes, 99)]
    clipped = float(np.mean(sounding > 0.8 * np.percentile(sounding, 99.9)))
    gap = 20 * float(np.log10(speech)) - floor
    return Recording(samples, rate, levels.astype(np.float32), speech, gap, clipped)


def cut_at_pauses(take: Recording, least: float = 60.0) -> Iterator[tuple[int, int]]:
    """Sample ranges that make up a take, each of at least so many seconds but the last.

    What is worked on piece by piece needs no more memory for a long take than for a short one;
    only a take without any pause is one piece.
    """
    start = 0
    for begin, end in find_pauses(take):
        middle = (begin + end) // 2
        if middle - start >= least * RATE:
            yield start, middle
            start = middle
    yield start, len(take.samples)


def find_pauses(take: Recording, least: float = 0.15) -> list[tuple[int, int]]:
    """Sample ranges of at least so many seconds that are much quieter than the speech."""
    top = 20 * np.log10(take.speech_level)
    floor = top - take.noise_gap
    limit = floor + max(0.35 * (top - floor), 3.0)
    return _list_runs(take.levels < limit, least)


def _list_runs(
    frames: npt.NDArray[np.bool_], least: float, more: int = 0
) -> list[tuple[int, int]]:
    """Sample ranges of at least so many seconds of frames that hold, and `more` frames after."""
    steps = np.flatnonzero(np.diff(frames.astype(np.int8), prepend=0, append=0))
    pairs = [(int(a), int(b) + more) for a, b in zip(steps[::2], steps[1::2], strict=True)]
    return [(a * _HOP, b * _HOP) for a, b in pairs if (b - a) * _HOP >= least * RATE]


def find_tones(take: Recording, least: float = 0.9) -> list[tuple[int, int]]:
    """Sample ranges of at least so many seconds that sound on unchanged: a reference note.

    The spectra of 32 ms, 80 ms apart, are alike there (their cosine). In model voices that is
    so for 0.39 s at most, in two read sentences for 0.12 s, in a note all along.
    """
    frames = np.lib.stride_tricks.sliding_window_view(take.samples, _SPECTRUM)[::_HOP]
    window = np.hanning(_SPECTRUM).astype(np.float32)
    alike = np.zeros(len(frames), bool)
    for start in range(0, len(frames), _PART):
        spectra = np.abs(np.fft.rfft(frames[start : start + _PART + _APART] * window))
        sizes = np.sqrt((spectra * spectra).sum(axis=1)) + 1e-9
        cosines = (spectra[_APART:] * spectra[:-_APART]).sum(axis=1)
        same = cosines > _ALIKE * sizes[_APART:] * sizes[:-_APART]
        loud = take.levels[start : start + len(same)] > 20 * np.log10(take.speech_level) - 20
        alike[start : start + len(same)] = same & loud
    return _list_runs(alike, least, _APART)


class Shortened(NamedTuple):
    """A take without its notes, and with short rests for long ones."""

    take: Recording
    frames: npt.NDArray[np.int64]
    """Which 10 ms of the whole take each 10 ms is."""

    notes: Sequence[tuple[int, int]]
    """Sample ranges of the whole take (`find_tones`)."""

    def restore(self, second: float) -> float:
        """When a sound that begins then begins in the whole take."""
        step = _HOP / RATE
        # The beginning of a frame is in it, however its seconds were rounded.
        place = min(max(int(second / step + 1e-6), 0), len(self.frames) - 1)
        return float(self.frames[place] - place) * step + second


def shorten_rests(take: Recording) -> Shortened:
    """What a recogniser should hear: it takes a note, or noise in a long rest, for words."""
    kept = np.ones(len(take.levels), bool)
    for start, end in find_pauses(take, _LONG_REST):
        # The rests at both ends of a take need no edge outside.
        first = start // _HOP + (_EDGE if start else 0)
        kept[first : end // _HOP - (_EDGE if end // _HOP < len(kept) else 0)] = False
    notes = find_tones(take)
    for start, end in notes:
        kept[start // _HOP : end // _HOP] = False
    if not kept.any():
        return Shortened(take, np.arange(len(kept)), notes)
    samples = take.samples[: len(kept) * _HOP].reshape(-1, _HOP)[kept].reshape(-1)
    short = replace(take, samples=samples, levels=take.levels[kept])
    return Shortened(short, np.flatnonzero(kept), notes)
