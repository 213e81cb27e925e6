"""A reader who breaks off and begins again is heard from where the text goes on."""

from __future__ import annotations

import numpy as np
from takes import drill_of, record, say

from drillgen.core.values import Delivery
from drillgen.sound.ear.check import check_take
from drillgen.sound.synth import RATE, Speed, Voice

LINE = "The ferry leaves at nine, and the harbour is cold."


def test_false_start_and_repeated_words() -> None:
    drill = drill_of(LINE)
    clean = say(drill, Voice.HIGH, 196, speed=Speed.NATURAL).samples
    begun, rest, pause = clean[: int(1.6 * RATE)], np.zeros(2 * RATE), np.zeros(RATE // 2)
    report = check_take(
        drill, record(np.concatenate([rest, begun, pause, clean])), Delivery.CHANT, target=196
    )
    alone = check_take(drill, record(clean), Delivery.CHANT, target=196)
    later = (len(rest) + len(begun) + len(pause)) / RATE
    shifts = [a.start - b.start for a, b in zip(report.syllables, alone.syllables, strict=True)]
    assert np.allclose(shifts, later, atol=0.05)
    assert not report.slips
    assert not report.missing
    # What was broken off is no part of the text.
    assert len(report.added) == 1
    assert report.added[0][1] < later + 0.5
