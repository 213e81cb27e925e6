"""What can't be told is said to be so: short vowels, vowels near the own FLEECE, lost formants."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace
from takes import record

from drillgen.core.take import Change, Syllable
from drillgen.core.values import Delivery
from drillgen.sound.ear.check import compare, look_again
from drillgen.sound.ear.listen import RATE
from drillgen.sound.ear.measure import Formants, measure_formants


def fleece(number: int, scatter: float = 0.0) -> Syllable:
    """One of a speaker's own; Hillenbrand et al. 1995 have 437 and 2761 Hz for women."""
    f1 = 437 * (1 + scatter * (-1) ** number)
    return Syllable(0, number, number, 0, "EH", "IY", "IY", False, 0.0, 0.2, 196, f1, 2761, 3372)


def other(said: str, f1: float, f2: float, length: float = 0.2) -> Syllable:
    return Syllable(0, 9, 9, 0, said, "IY", said, True, 1.0, 1 + length, 196, f1, f2, 3000)


@pytest.mark.parametrize(
    ("syllable", "scatter", "slip", "vague"),
    [
        (other("EH", 731, 2058), 0.0, True, False),  # DRESS
        (other("IH", 483, 2365), 0.0, True, False),  # KIT
        (other("EH", 731, 2058, 0.04), 0.0, False, True),  # four frames
        (other("EH", 731, 2058, 0.052), 0.0, True, False),  # five frames: clear enough
        (other("UW", 440, 1900, 0.052), 0.0, False, True),  # five frames, off in F2 alone
        (other("UW", 440, 1900), 0.0, True, False),
        (other("IH", 470, 2620), 0.0, False, False),  # as the own FLEECE
        (other("IH", 487, 2761), 0.0, False, True),  # between both
        (other("IH", 483, 2365), 0.2, False, True),  # nothing is sure of such a voice
    ],
)
def test_what_can_t_be_told_is_no_slip(
    syllable: Syllable, scatter: float, slip: bool, vague: bool
) -> None:
    own = [fleece(number, scatter) for number in range(10)]
    told = look_again([*own, syllable], Delivery.CHANT)[-1]
    assert (told.slip, told.vague) == (slip, vague)


@pytest.mark.parametrize(
    ("ratio", "clear", "change"),
    [
        (1.08, True, Change.MORE),
        (0.92, True, Change.LESS),
        (1.0, True, Change.NONE),
        (1.25, True, Change.UNSURE),  # farther than from men to women
        (0.7, True, Change.UNSURE),
        (1.08, False, Change.UNSURE),
    ],
)
def test_nobody_changes_so_far(ratio: float, clear: bool, change: Change) -> None:
    before = [fleece(number, 0.02) for number in range(12)]
    now = [replace(s, f2=s.f2 * ratio * (1 + 0.005 * (-1) ** s.word)) for s in before]
    assert compare(now, before, 0.0, "IY", clear=clear).change is change


def make_vowel(*formants: float) -> Formants:
    """What is measured in a vowel of 120 Hz whose resonances (bandwidth 80 Hz) are known."""
    pulses = np.zeros(2 * RATE)
    pulses[:: RATE // 120] = 1
    # Over half a second more, in which the resonances have died away.
    size = len(pulses) + RATE // 2
    delay = np.exp(-2j * np.pi * np.fft.rfftfreq(size))
    spectrum = np.fft.rfft(pulses, size)
    for hertz in formants:
        radius = np.exp(-np.pi * 80 / RATE)
        weights = [1, -2 * radius * np.cos(2 * np.pi * hertz / RATE), radius**2]
        spectrum /= np.polynomial.polynomial.polyval(delay, weights)
    samples = np.fft.irfft(spectrum, size)[: len(pulses)]
    return measure_formants(record(0.3 * samples / abs(samples).max(), RATE), 1.0, 5000)


def test_a_first_formant_that_is_lost_makes_no_vowel() -> None:
    assert make_vowel(480, 2300, 2900, 3500, 4300).f1 == pytest.approx(480, abs=120)
    assert make_vowel(2300, 2900, 3500, 4300, 4700) == Formants()
