"""Pitch and formants of the vowels of a take, by Praat's published methods.

Pitch: autocorrelation (Boersma 1993, Proceedings of the Institute of Phonetic Sciences 17,
97-110), in two passes whose range follows the speaker (Hirst 2011, Journal of Speech
Sciences 1, 55-83: three quarters of the first quartile, one and a half of the third).

Formants: linear prediction by Burg's method over five formants (Childers 1978), at the centre
of the vowel. The ceiling is the speaker's: the one with which tokens of the same vowel agree
best (Escudero et al. 2009, JASA 126, 1379-1393). How formants are taken at a vowel's steady
centre follows Hillenbrand et al. 1995, JASA 97, 3099-3111.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from drillgen.core.formants import hz_to_bark
from drillgen.core.take import Ending, VowelMean
from drillgen.core.values import Tune
from drillgen.sound.ear.align import Heard
from drillgen.sound.ear.listen import RATE, Recording, cut_at_pauses, load_parselmouth

Numbers = npt.NDArray[np.float64]

_LOWEST, _HIGHEST = 60.0, 700.0
"""Hz within which a voice is sought."""

CEILINGS: Final = tuple(float(hz) for hz in range(4500, 6501, 250))
"""Hz that are tried (Escudero et al. 2009 tried 4500 to 6500 for women, 4000 to 6000 for men)."""

_TRIED: Final = 40
"""Vowels of a take on which the ceilings are tried."""

_HIGHEST_F1: Final = 1200.0
"""Hz above which a first formant is the second: the open vowels of children, the highest that
Hillenbrand et al. 1995 have, average 1002 to 1051."""

_LOST: Final = float(np.log(2)) ** 2
"""How far a vowel without formants disagrees with its like: by an octave."""

_ROUNDS: Final = 2000
"""Draws of a bootstrap."""

_HALF: Final = 0.045
"""Seconds of sound to each side of a centre."""

MOVES: Final = 1.5
"""Semitones below which a listener hears no movement of pitch in speech (from memory: 't Hart,
Collier and Cohen 1990, A Perceptual Study of Intonation)."""

_SURE: Final = 3
"""Vowels that make a mean."""

_MANY: Final = 400
"""Vowels from which a drift is taken."""


class Track(NamedTuple):
    """Pitch over time, a value each 10 ms."""

    times: Numbers
    hertz: Numbers
    """0 where there is no pitch."""

    def between(self, start: float, end: float) -> Numbers:
        """The pitches in a stretch, without its unvoiced frames."""
        low, high = np.searchsorted(self.times, (start, end))
        part = self.hertz[low:high]
        return part[part > 0]


class Formants(NamedTuple):
    """The first three formants in Hz; zeros where they can't be found."""

    f1: float = 0.0
    f2: float = 0.0
    f3: float = 0.0


def track_pitch(take: Recording) -> Track:
    """The pitch of a take."""
    make_sound = load_parselmouth().Sound
    pieces = list(cut_at_pauses(take))

    def track(step: float, floor: float, ceiling: float) -> Iterator[tuple[Numbers, Numbers]]:
        for start, end in pieces:
            sound = make_sound(take.samples[start:end].astype(np.float64), RATE, start / RATE)
            if sound.duration > 3 / floor:
                pitch = sound.to_pitch_ac(
                    step, floor, 15, False, 0.03, 0.45, 0.01, 0.35, 0.14, ceiling
                )
                yield np.asarray(pitch.xs(), dtype=np.float64), _values(pitch)

    voiced = np.concatenate([hz[hz > 0] for _, hz in track(0.02, _LOWEST, _HIGHEST)])
    if not len(voiced):
        return Track(np.zeros(0), np.zeros(0))
    low, high = np.quantile(voiced, (0.25, 0.75))
    floor, ceiling = max(_LOWEST, 0.75 * low), min(_HIGHEST, max(1.5 * high, 2 * low))
    times, hertz = zip(*track(0.01, floor, ceiling), strict=True)
    return Track(np.concatenate(times), np.concatenate(hertz))


def _values(pitch: Any) -> Numbers:
    return np.asarray(pitch.selected_array["frequency"], dtype=np.float64)


def gather_pitch(track: Track, heard: Sequence[Heard]) -> list[Numbers]:
    """The voiced pitches of each vowel; its edges, where consonants pull at it, left out."""
    return [
        track.between(h.vowel_start + trim, h.vowel_end - trim)
        for h in heard
        if (trim := min(0.02, (h.vowel_end - h.vowel_start) / 5)) >= 0
    ]


def measure_drift(times: Sequence[float], cents: Sequence[float]) -> float:
    """Change in cents from the first time to the last, along the line of Theil (1950) and
    Sen (1968): the median of the slopes between all pairs.

    >>> round(measure_drift([0, 1, 2, 3, 4], [0, 10, 20, 900, 40]))
    40
    """
    if len(times) < 3:
        return 0.0
    step = -(-len(times) // _MANY)
    t, c = np.asarray(times, float)[::step], np.asarray(cents, float)[::step]
    i, j = np.triu_indices(len(t), 1)
    apart = t[j] - t[i] > 0
    slope = float(np.median((c[j] - c[i])[apart] / (t[j] - t[i])[apart])) if apart.any() else 0.0
    return slope * float(t[-1] - t[0])


def judge_ending(phrase: int, tune: Tune, pitches: Iterable[Numbers]) -> Ending | None:
    """Whether a phrase's end rose or fell. `pitches`: its vowels from the main beat on, in Hz.

    None where too little of it has a pitch.
    """
    voiced = [p for p in pitches if len(p)]
    joined = np.concatenate(voiced) if voiced else np.zeros(0)
    if len(joined) < 6 or tune is Tune.LEVEL:
        return None
    tones = 12 * np.log2(joined)
    end = float(np.median(tones[-max(3, len(tones) // 6) :]))
    body = tones[: max(3, 2 * len(tones) // 3)]
    move = end - float(np.quantile(body, 0.9 if tune is Tune.FALL else 0.1))
    done = move <= -MOVES if tune is Tune.FALL else move >= MOVES
    return Ending(phrase, tune, move, done)


# Formants


def measure_formants(take: Recording, centre: float, ceiling: float) -> Formants:
    """Formants around a time, the median of five frames 5 ms apart."""
    low = max(0, round((centre - _HALF) * RATE))
    part = take.samples[low : round((centre + _HALF) * RATE)].astype(np.float64)
    if len(part) < 0.06 * RATE or not part.any():
        return Formants()
    sound = load_parselmouth().Sound(part, RATE)
    burg = sound.to_formant_burg(0.005, 5, ceiling, 0.025, 50)
    middle = centre - low / RATE
    times = [middle + 0.005 * step for step in range(-2, 3)]
    rows = [[burg.get_value_at_time(n, t) for t in times] for n in (1, 2, 3)]
    values = [float(np.nanmedian(row)) if np.isfinite(row).sum() > 2 else 0.0 for row in rows]
    return Formants(*values) if all(values) and values[0] < _HIGHEST_F1 else Formants()


class Ceiling(NamedTuple):
    """Up to where five formants are sought."""

    hertz: float
    blur: float
    """How far F2 moves with the next ceiling: median of the absolute log ratios."""


def choose_ceiling(groups: Iterable[tuple[Recording, Sequence[tuple[str, float]]]]) -> Ceiling:
    """The ceiling with which the same vowels agree best.

    `groups`: takes of one speaker, each with its vowels (symbol, time of the centre).
    The sum of the variances of log F1 and log F2 inside each vowel of each take,
    weighted by their number (Escudero et al. 2009). A ceiling that loses vowels is no good one,
    however well the rest agree: where F1 is lost, F2 and F3 agree better than F1 and F2.
    """
    chosen = [
        (take, f"{number} {symbol}", centre)
        for number, (take, vowels) in enumerate(groups)
        for symbol, centre in vowels[:: -(-len(vowels) // _TRIED) or 1]
    ]
    rows = np.array(
        [[measure_formants(take, at, hertz)[:2] for take, _, at in chosen] for hertz in CEILINGS]
    ).reshape(len(CEILINGS), -1, 2)
    found = rows[:, :, 1] > 0
    if not found.any():
        return Ceiling(5500.0, 0.0)
    logs = np.log(np.where(found[:, :, None], rows, 1.0))
    kinds = np.array([kind for _, kind, _ in chosen])

    def disagreement(n: int) -> float:
        total = _LOST * np.count_nonzero(~found[n])
        count = np.count_nonzero(~found[n])
        for kind in np.unique(kinds[found[n]]):
            tokens = logs[n][found[n] & (kinds == kind)]
            if len(tokens) > 2:
                total += len(tokens) * float(tokens.var(axis=0).sum())
                count += len(tokens)
        return total / count if count else np.inf

    best = int(np.argmin([disagreement(n) for n in range(len(CEILINGS))]))
    moves = [
        float(np.median(np.abs(logs[best, both, 1] - logs[other, both, 1])))
        for other in (best - 1, best + 1)
        if 0 <= other < len(CEILINGS) and (both := found[best] & found[other]).any()
    ]
    return Ceiling(CEILINGS[best], max(moves, default=0.0))


def average_vowels(rows: Iterable[tuple[str, Formants]], anchor: str) -> tuple[VowelMean, ...]:
    """The medians of each vowel, commonest first, and how far they lie from the anchor.

    Distances are straight lines in the plane of F1 and F2 in Bark (Traunmüller 1990), in which
    equal ones sound about equally large.
    """
    tokens: dict[str, list[Formants]] = {}
    for symbol, found in rows:
        if found.f2:
            tokens.setdefault(symbol, []).append(found)
    means = [
        VowelMean(symbol, len(found), *map(float, np.median(np.array(found), axis=0)))
        for symbol, found in tokens.items()
    ]
    centre = next((m for m in means if m.vowel == anchor and m.tokens >= _SURE), None)
    if centre:
        own = _place(centre)
        means = [replace(mean, away=math.dist(_place(mean), own)) for mean in means]
    return tuple(sorted(means, key=lambda mean: -mean.tokens))


def _place(mean: VowelMean) -> tuple[float, float]:
    return hz_to_bark(mean.f1), hz_to_bark(mean.f2)


def bootstrap(values: Sequence[float], clusters: Sequence[int]) -> tuple[float, float, float]:
    """A mean without its outliers, and its 95% percentile interval (Efron 1979).

    Whole clusters are drawn (Davison and Hinkley 1997, section 3.8), since neighbours resemble
    each other; values beyond three robust deviations from the median are drawn in to there.
    """
    data = np.asarray(values, float)
    middle = float(np.median(data))
    reach = 3 * 1.4826 * float(np.median(np.abs(data - middle))) + 1e-9
    data = np.clip(data, middle - reach, middle + reach)
    _, index = np.unique(np.asarray(clusters), return_inverse=True)
    sums, counts = np.bincount(index, data), np.bincount(index)
    picks = np.random.default_rng(0).integers(0, len(sums), (_ROUNDS, len(sums)))
    means = sums[picks].sum(axis=1) / counts[picks].sum(axis=1)
    low, high = np.quantile(means, (0.025, 0.975))
    return float(data.mean()), float(low), float(high)
