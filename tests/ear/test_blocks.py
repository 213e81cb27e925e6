"""A long take is heard block by block; the seams must not show."""

from __future__ import annotations

import numpy as np
import pytest
from takes import FERRY, drill_of, record, say

from drillgen.core.values import Delivery
from drillgen.sound.ear import align as aligner
from drillgen.sound.ear.expect import expect_syllables
from drillgen.sound.ear.listen import RATE
from drillgen.sound.synth import Speed, Voice


@pytest.mark.parametrize("seconds", [4, 9])
def test_blocks_hear_what_one_piece_hears(seconds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    drill = drill_of(FERRY)
    take = record(say(drill, Voice.HIGH, 196, share=0.3, speed=Speed.NATURAL).samples)
    assert take.seconds > 2 * seconds
    expected = expect_syllables(drill, Delivery.CHANT)
    whole = aligner.align(take, expected)
    monkeypatch.setattr(aligner, "_BLOCK", seconds * RATE)
    parts = aligner.align(take, expected)
    assert [h.unit for h in parts] == [h.unit for h in whole] == [*range(len(expected))]
    same = [a.vowel == b.vowel for a, b in zip(parts, whole, strict=True)]
    assert np.mean(same) > 0.95
    apart = [abs(a.vowel_start - b.vowel_start) for a, b in zip(parts, whole, strict=True)]
    assert np.quantile(apart, 0.95) < 0.03
