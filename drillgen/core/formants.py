"""The Bark scale, and how far apart two vowels are on it.

Formant averages stand in the profiles of the accents, with their sources.
"""

from __future__ import annotations

import math

from drillgen.core.accents import Accent, Formants, load_accent


def hz_to_bark(hz: float) -> float:
    """Critical-band rate in Bark.

    Traunmüller (1990), Analytical expressions for the tonotopic sensory scale,
    JASA 88, 97-100, with its corrections below 2 and above 20.1 Bark. Raises
    ValueError below 0 Hz.

    >>> round(hz_to_bark(1000), 2)
    8.53
    """
    if not hz >= 0:
        raise ValueError(f"a frequency can't be {hz} Hz")
    z = 26.81 * hz / (1960 + hz) - 0.53
    if z < 2:
        return z + 0.15 * (2 - z)
    if z > 20.1:
        return z + 0.22 * (z - 20.1)
    return z


def _spot_distance(a: Formants, b: Formants) -> float:
    return math.hypot(hz_to_bark(a.f1) - hz_to_bark(b.f1), hz_to_bark(a.f2) - hz_to_bark(b.f2))


def bark_distance(a: str, b: str, accent: Accent | None = None) -> float:
    """How far apart two vowels of an accent are, in Bark: Euclidean in F1 and F2.

    `a` and `b` are symbols of the accent (None: the dictionary's). Women's
    averages, the resonance that the drill aims at. A diphthong counts with the
    point of its path that is farthest away. KeyError for a symbol that is no
    vowel of the accent.
    """
    accent = accent or load_accent()
    if accent.vowels[a] is accent.vowels[b]:
        return 0.0
    path_a, path_b = (accent.paths.get(s, (s,)) for s in (a, b))
    return max(_spot_distance(accent.women[p], accent.women[q]) for p in path_a for q in path_b)
