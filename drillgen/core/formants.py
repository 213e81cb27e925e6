"""Published formant averages and the Bark scale.

The averages are those of women and men in Hillenbrand, Getty, Clark and
Wheeler (1995), Acoustic characteristics of American English vowels, JASA 97,
3099-3111, table V; Hz, from memory. Peterson and Barney (1952), whose raw data
a package carries, is the check in the tests.
"""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.phones import VOWELS


class Formants(NamedTuple):
    """Average fundamental and first three formants of a vowel, in Hz."""

    f0: float
    f1: float
    f2: float
    f3: float


WOMEN: Final = MappingProxyType(
    {
        "IY": Formants(227, 437, 2761, 3372),
        "IH": Formants(224, 483, 2365, 3053),
        "EY": Formants(219, 536, 2530, 3047),
        "EH": Formants(214, 731, 2058, 2979),
        "AE": Formants(215, 669, 2349, 2972),
        "AA": Formants(215, 936, 1551, 2815),
        "AO": Formants(210, 781, 1136, 2824),
        "OW": Formants(217, 555, 1035, 2828),
        "UH": Formants(230, 519, 1225, 2827),
        "UW": Formants(235, 459, 1105, 2735),
        "AH": Formants(218, 753, 1426, 2933),
        "ER": Formants(217, 523, 1588, 1929),
    }
)

MEN: Final = MappingProxyType(
    {
        "IY": Formants(138, 342, 2322, 3000),
        "IH": Formants(135, 427, 2034, 2684),
        "EY": Formants(129, 476, 2089, 2691),
        "EH": Formants(127, 580, 1799, 2605),
        "AE": Formants(123, 588, 1952, 2601),
        "AA": Formants(123, 768, 1333, 2522),
        "AO": Formants(121, 652, 997, 2538),
        "OW": Formants(129, 497, 910, 2459),
        "UH": Formants(133, 469, 1122, 2434),
        "UW": Formants(143, 378, 997, 2343),
        "AH": Formants(133, 623, 1200, 2550),
        "ER": Formants(130, 474, 1379, 1710),
    }
)

DIPHTHONG_PATHS: Final = MappingProxyType(
    {"AY": ("AA", "IH"), "AW": ("AA", "UH"), "OY": ("AO", "IH")}
)
"""Start and end of the diphthongs that the study did not measure, as the
nearest vowels that it did."""


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


def _spot_distance(a: str, b: str) -> float:
    va, vb = WOMEN[a], WOMEN[b]
    return math.hypot(hz_to_bark(va.f1) - hz_to_bark(vb.f1), hz_to_bark(va.f2) - hz_to_bark(vb.f2))


def bark_distance(a: str, b: str) -> float:
    """How far apart two vowels are, in Bark: Euclidean in F1 and F2.

    `a` and `b` are ARPAbet symbols. Women's averages, the resonance that the
    drill aims at. A diphthong counts with the point of its path that is
    farthest away. KeyError for a symbol that is no vowel.
    """
    for symbol in (a, b):
        VOWELS[symbol]
    path_a = DIPHTHONG_PATHS.get(a, (a,))
    path_b = DIPHTHONG_PATHS.get(b, (b,))
    if a == b:
        return 0.0
    return max(_spot_distance(p, q) for p in path_a for q in path_b)
