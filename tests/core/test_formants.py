"""Formant averages against a second published study."""

from __future__ import annotations

import math
from collections import defaultdict
from statistics import mean

import parselmouth
import pytest

from drillgen.core.accents import load_accent
from drillgen.core.formants import bark_distance, hz_to_bark
from drillgen.core.phones import VOWELS

# Vowel labels of the table in Praat, as ARPAbet.
LABELS = {
    "iy": "IY",
    "ih": "IH",
    "eh": "EH",
    "ae": "AE",
    "ah": "AH",
    "aa": "AA",
    "ao": "AO",
    "uh": "UH",
    "uw": "UW",
    "er": "ER",
}


@pytest.fixture(scope="module")
def peterson_barney() -> dict[tuple[str, str], tuple[float, float]]:
    """Mean F1 and F2 in Hz by (group, vowel): Peterson & Barney (1952), Control methods
    used in a study of the vowels, JASA 24, 175-184, all speakers, as the package
    praat-parselmouth carries the raw table."""
    call = parselmouth.praat.call
    table = call("Create formant table (Peterson & Barney 1952)")
    lines = call(table, "List", False).splitlines()
    head = lines[0].split("\t")
    values: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    for line in lines[1:]:
        row = dict(zip(head, line.split("\t"), strict=True))
        values[row["Type"], LABELS[row["Vowel"]]].append((float(row["F1"]), float(row["F2"])))
    return {k: (mean(f1 for f1, _ in v), mean(f2 for _, f2 in v)) for k, v in values.items()}


@pytest.mark.parametrize("group", ["w", "m"])
def test_same_vowel_is_near_in_both_studies(
    group: str, peterson_barney: dict[tuple[str, str], tuple[float, float]]
) -> None:
    """The dialects and decades differ, so allow 1.6 Bark: the low front vowels had risen."""
    ours = load_accent().women if group == "w" else load_accent().men
    for symbol in LABELS.values():
        f1, f2 = peterson_barney[group, symbol]
        assert abs(hz_to_bark(ours[symbol].f1) - hz_to_bark(f1)) < 1.6, symbol
        assert abs(hz_to_bark(ours[symbol].f2) - hz_to_bark(f2)) < 1.6, symbol


@pytest.mark.parametrize("group", ["w", "m"])
def test_both_studies_agree_on_what_is_far_from_fleece(
    group: str, peterson_barney: dict[tuple[str, str], tuple[float, float]]
) -> None:
    """Spearman's rank correlation of the distances from /i/ is high."""
    symbols = [s for s in LABELS.values() if s != "IY"]
    i1, i2 = (hz_to_bark(f) for f in peterson_barney[group, "IY"])

    def distance(symbol: str) -> float:
        f1, f2 = (hz_to_bark(f) for f in peterson_barney[group, symbol])
        return math.hypot(f1 - i1, f2 - i2)

    ours = sorted(symbols, key=lambda s: bark_distance(s, "IY"))
    theirs = sorted(symbols, key=distance)
    n = len(symbols)
    squares = sum((ours.index(s) - theirs.index(s)) ** 2 for s in symbols)
    assert 1 - 6 * squares / (n * (n * n - 1)) > 0.85


# Traunmüller (1990): the critical-band edges of Zwicker (1961), Bark against Hz, fit
# the formula within 0.05 Bark from 0.2 to 6.7 kHz.
@pytest.mark.parametrize(
    ("hz", "bark"),
    [(200, 2), (300, 3), (400, 4), (510, 5), (920, 8), (1480, 11), (2320, 14), (3700, 17)],
)
def test_bark_against_zwicker(hz: float, bark: float) -> None:
    assert hz_to_bark(hz) == pytest.approx(bark, abs=0.06)


def test_bark_rejects_nonsense() -> None:
    with pytest.raises(ValueError, match="Hz"):
        hz_to_bark(-1)
    with pytest.raises(ValueError, match="Hz"):
        hz_to_bark(float("nan"))


def test_distance_is_symmetric_and_zero_on_itself() -> None:
    for a in VOWELS:
        assert bark_distance(a, a) == 0
        for b in VOWELS:
            assert bark_distance(a, b) == bark_distance(b, a)
    with pytest.raises(KeyError):
        bark_distance("K", "IY")
