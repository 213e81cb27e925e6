"""Give flat speech a melody: pitch-synchronous overlap-add (Moulines and Charpentier 1990).

The method is known to stumble over wrong pitch marks. Here the voice is flat and its pitch
known, so each mark is searched in a tenth of a period around where it must be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np
import numpy.typing as npt

from drillgen.sound.audio import Samples
from drillgen.sound.synth import RATE, Speech

Contour = Callable[[float], float]
"""Hz at a time in seconds."""

_SEARCH: Final = 0.1
"""How far a mark may lie from where it is expected, in periods."""

_FINE: Final = 2
"""The work is done at twice the rate: half a sample of jitter is heard in a high note."""

_EVEN: Final = 5
"""Marks to each side that a mark is brought in line with."""

_WIDE: Final = 0.12
"""How far the voice's pitch lies from what its scale says as a rule, as a share."""

_FAR: Final = 0.45
"""How far it may lie: less than an octave, so that no other multiple of the period is meant."""

_CLEARER: Final = 1.2
"""How much more like itself the sound must be there: formants too make it like itself."""


def tune_flat(speech: Speech, hz: float) -> Speech:
    """Flat speech moved to a pitch near its own by playing it a little faster or slower.

    espeak-ng's scale has steps of about 20 cents; what remains is half a step. The
    formants move with it, by less than 1%.
    """
    spans = list(_voiced_spans(speech))
    ratio = hz * _find_period(speech.samples, spans, RATE / speech.hz) / RATE
    samples = _resample(speech.samples, round(len(speech.samples) / ratio))
    return speech._replace(
        samples=samples, starts=tuple(round(start / ratio) for start in speech.starts), hz=hz
    )


def bend_pitch(speech: Speech, contour: Contour) -> Samples:
    """Speech with its voiced stretches on the contour's pitch.

    A stretch ends on a whole period, so a time may move by half a period (5 ms
    at 100 Hz); such shifts never add up.
    """
    rate = RATE * _FINE
    samples = _resample(speech.samples, len(speech.samples) * _FINE)
    spans = [(start * _FINE, end * _FINE) for start, end in _voiced_spans(speech)]
    period = _find_period(samples, spans, rate / speech.hz)
    # The peaks of the fundamental alone: those of the wave jump with its formants.
    smooth = _resample(speech.samples, len(samples), cut=RATE * _FINE / period / RATE)
    pieces: list[Samples] = []
    done = shift = 0
    for start, end in spans:
        marks = _move_to_peaks(samples, _mark_periods(smooth, start, end, period), period)
        if len(marks) < 3:
            continue
        first, last = int(marks[0]), int(marks[-1])
        pulses = _place_pulses(first + shift, last, lambda place: rate / contour(place / rate))
        pieces += [samples[done:first], _resynthesize(samples, marks, pulses - shift)]
        done, shift = last, int(pulses[-1]) - last
    whole = np.concatenate([*pieces, samples[done:]])
    return _resample(whole, len(whole) // _FINE)


def _resample(samples: Samples, length: int, cut: float | None = None) -> Samples:
    """The same sound in another number of samples, by its spectrum.

    With `cut`, a share of the sampling rate, only what lies around it and below is kept.
    """
    # A length with small factors: the transform of a prime one is slow.
    block = 1024
    padded = block * -(-len(samples) // block)
    spectrum = np.fft.rfft(samples, padded)
    if cut is not None:
        spectrum *= np.exp(-((np.arange(len(spectrum)) / (cut * padded)) ** 2))
    size = round(padded * length / max(len(samples), 1))
    result = np.fft.irfft(spectrum[: size // 2 + 1], size) * (size / max(padded, 1))
    return np.asarray(result[:length])


def _place_pulses(
    first: int, last: int, period_at: Callable[[float], float]
) -> npt.NDArray[np.int64]:
    """Samples at which the new periods begin, the last as near as may be to `last`."""
    pulses = [float(first)]
    while True:
        step = period_at(pulses[-1])
        if pulses[-1] + step / 2 > last and len(pulses) > 1:
            return np.round(pulses).astype(np.int64)
        pulses.append(pulses[-1] + step)


def _voiced_spans(speech: Speech) -> Iterator[tuple[int, int]]:
    """Sample ranges in which the voice sounds without a break."""
    begin: int | None = None
    for index, voiced in enumerate(speech.voiced):
        if voiced and begin is None:
            begin = speech.starts[index]
        if begin is not None and (not voiced or index + 1 == len(speech.voiced)):
            yield begin, speech.starts[index if not voiced else index + 1]
            begin = None


def _find_period(samples: Samples, spans: list[tuple[int, int]], expected: float) -> float:
    """The period in samples, by autocorrelation of the longest voiced span.

    It is sought near what the scale says, and farther away where it is clearer there.
    """
    if not spans:
        return expected
    start, end = max(spans, key=lambda span: span[1] - span[0])
    piece = samples[start:end] - samples[start:end].mean()
    if len(piece) < 3 * expected * (1 + _WIDE):
        return expected
    lags, scores = _correlate(piece, expected, _WIDE)
    if len(piece) > 3 * expected * (1 + _FAR):
        far, others = _correlate(piece, expected, _FAR)
        if others.max() > _CLEARER * scores.max():
            lags, scores = far, others
    best = int(np.clip(scores.argmax(), 1, len(lags) - 2))
    left, middle, right = scores[best - 1 : best + 2]
    curve = left - 2 * middle + right
    # The parabola through the three highest points gives the fraction.
    return float(lags[best] + (0.5 * (left - right) / curve if curve else 0.0))


def _correlate(
    piece: Samples, expected: float, share: float
) -> tuple[npt.NDArray[np.int64], Samples]:
    """Lags around the expected period, and the autocorrelation at each (Wiener-Khinchin)."""
    lags = np.arange(int(expected * (1 - share)), int(expected * (1 + share)) + 2)
    # So much silence behind it that the end does not meet the beginning.
    size = 1024 * -(-(len(piece) + int(lags[-1])) // 1024)
    power = np.abs(np.fft.rfft(piece, size)) ** 2
    return lags, np.asarray(np.fft.irfft(power, size)[lags])


def _mark_periods(samples: Samples, start: int, end: int, period: float) -> npt.NDArray[np.int64]:
    """The sample of the peak in each period, walking from the middle to both sides."""
    if end - start < 3 * period:
        return np.zeros(0, dtype=np.int64)
    reach = max(2, round(_SEARCH * period))
    middle = (start + end) // 2
    first = middle + int(samples[middle : middle + int(period)].argmax())

    def walk(step: float) -> list[int]:
        marks, place = [], first
        while start + reach < place + step < end - reach:
            low = round(place + step) - reach
            place = low + int(samples[low : low + 2 * reach + 1].argmax())
            marks.append(place)
        return marks

    marks = np.array([*reversed(walk(-period)), first, *walk(period)], dtype=np.float64)
    # The voice is flat: a mark that lies beside the line of its neighbours is an error.
    line = marks[0] + period * np.arange(len(marks))
    padded = np.pad(marks - line, _EVEN, mode="edge")
    window = np.hanning(2 * _EVEN + 1)
    even = np.convolve(padded, window / window.sum(), mode="valid")
    return np.asarray(np.round(line + even), dtype=np.int64)


def _move_to_peaks(
    samples: Samples, marks: npt.NDArray[np.int64], period: float
) -> npt.NDArray[np.int64]:
    """Marks moved together to where the wave is highest: a window cut there holds one pulse."""
    if len(marks) < 3:
        return marks
    inner = marks[1:-1]
    heights = [float(samples[inner + offset].sum()) for offset in range(round(period))]
    best = int(np.argmax(heights))
    moved = marks + (best if best < period / 2 else best - round(period))
    return moved[(moved >= 0) & (moved < len(samples))]


def _resynthesize(
    samples: Samples, marks: npt.NDArray[np.int64], pulses: npt.NDArray[np.int64]
) -> Samples:
    """The stretch between the first and the last pulse, each with the nearest period.

    The first pulse stands on the first mark; the last one takes the last mark's period,
    so that what follows joins on.
    """
    gaps = np.diff(marks)
    margin = 2 * int(gaps.max()) + 2
    total = np.zeros(int(pulses[-1] - pulses[0]) + 2 * margin)
    weight = np.zeros_like(total)
    sources = np.abs(marks[None, :] - pulses[:, None]).argmin(axis=1)
    sources[-1] = len(marks) - 1
    steps = np.diff(pulses, append=2 * pulses[-1] - pulses[-2])
    for pulse, source, step in zip(pulses, sources, steps, strict=True):
        length = int(min(gaps[max(source - 1, 0)], step))
        low, high = int(marks[source]) - length, int(marks[source]) + length + 1
        cut_low, cut_high = max(low, 0), min(high, len(samples))
        window = np.hanning(2 * length + 1)[cut_low - low : cut_high - low]
        begin = int(pulse - pulses[0]) - length + margin + cut_low - low
        where = slice(begin, begin + len(window))
        total[where] += samples[cut_low:cut_high] * window
        weight[where] += window
    body = slice(margin, margin + int(pulses[-1] - pulses[0]))
    # Where periods stand far apart the windows leave valleys; below 0.3 they stay.
    return np.asarray(total[body] / np.maximum(weight[body], 0.3), dtype=np.float64)
