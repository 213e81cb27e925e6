"""Takes with known answers; bench/ear.py measures the same on many more."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

import msgspec
import numpy as np
import pypdf
import pytest
import soundfile
from takes import FERRY, add_noise, bend, change_tract, drill_of, record, say

from drillgen.core.errors import InputError
from drillgen.core.options import Format, PageOptions
from drillgen.core.take import Change, Doubt
from drillgen.core.values import Delivery, Tune
from drillgen.sheets.take import lay_out_take
from drillgen.sound.ear.check import check_take
from drillgen.sound.ear.listen import RATE, read_take
from drillgen.sound.ear.measure import (
    Formants,
    average_vowels,
    bootstrap,
    judge_ending,
    measure_drift,
)
from drillgen.sound.synth import RATE as VOICE_RATE
from drillgen.sound.synth import Speed, Voice
from drillgen.write import render

SHORT = (
    "The ferry leaves at nine, and the harbour is cold. A woman in a brown coat carries a box of "
    "lamps."
)

LINE = "The ferry leaves at nine, and the harbour is cold."


def test_slips_are_found_syllable_by_syllable() -> None:
    drill = drill_of(FERRY)
    take = say(drill, Voice.HIGH, 196, share=0.3, seed=3, speed=Speed.NATURAL)
    report = check_take(drill, record(take.samples), Delivery.CHANT, target=196)
    found = [s.slip for s in report.syllables]
    right = sum(a and b for a, b in zip(found, take.slips, strict=True))
    assert right >= 0.9 * sum(found)
    assert right >= 0.85 * sum(take.slips)
    assert abs(1200 * np.log2(report.melody.median / 196)) < 10
    assert report.melody.near is not None
    assert report.melody.near > 0.95
    assert not report.missing
    assert not report.doubts


def test_drift_and_noise() -> None:
    drill = drill_of(SHORT)
    take = say(drill, Voice.LOW, 130)
    report = check_take(
        drill, record(add_noise(bend(take.samples, 60), 20)), Delivery.CHANT, target=130
    )
    assert report.melody.drift == pytest.approx(60, abs=10)
    assert report.melody.median == pytest.approx(130 * 2 ** (30 / 1200), rel=0.01)
    assert len(report.slips) <= 2


def test_brightness_beyond_chance() -> None:
    drill = drill_of(LINE)
    take = say(drill, Voice.HIGH, 196, speed=Speed.NATURAL)
    before = record(add_noise(take.samples, 35, seed=2))
    for ratio, change in ((1.08, Change.MORE), (1.0, Change.NONE)):
        now = record(add_noise(change_tract(take.samples, ratio), 35))
        report = check_take(drill, now, Delivery.CHANT, before=before)
        assert report.comparison is not None
        assert report.comparison.change is change
        assert report.comparison.f2.value == pytest.approx(ratio - 1, abs=0.02)


def test_inflection_and_monotone() -> None:
    drill = drill_of(LINE)
    lively = say(drill, Voice.HIGHER, 220, delivery=Delivery.INFLECTED, speed=Speed.NATURAL)
    flat = say(
        drill,
        Voice.HIGHER,
        220,
        delivery=Delivery.INFLECTED,
        spoken=Delivery.CHANT,
        speed=Speed.NATURAL,
    )
    before = record(lively.samples)
    report = check_take(drill, before, Delivery.INFLECTED)
    assert all(ending.done for ending in report.melody.endings)
    assert report.melody.span > 4
    dull = check_take(drill, record(flat.samples), Delivery.INFLECTED, before=before)
    assert not any(ending.done for ending in dull.melody.endings)
    assert dull.comparison is not None
    assert dull.comparison.span_kept < 0.25


@pytest.mark.parametrize("rate", [8000, 48000])
def test_files_of_any_rate(rate: int, tmp_path: Path) -> None:
    import parselmouth

    drill = drill_of("The ferry leaves at nine.")
    take = say(drill, Voice.LOW, 130)
    sound = parselmouth.Sound(take.samples, VOICE_RATE).resample(rate, 30).values[0]
    path = tmp_path / "take.wav"
    soundfile.write(path, np.stack([sound, 0.3 * sound], axis=1), rate)
    recording = read_take(path)
    assert recording.seconds == pytest.approx(len(take.samples) / VOICE_RATE, abs=0.01)
    report = check_take(drill, recording, Delivery.CHANT, target=130)
    assert abs(1200 * np.log2(report.melody.median / 130)) < 10
    assert (Doubt.NARROW in report.doubts) == (rate < RATE)


def test_what_is_no_take(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    with pytest.raises(InputError, match="no such file"):
        read_take(path)
    path.write_bytes(b"\x00\x00\x00\x18ftypmp42" + bytes(500))
    with pytest.raises(InputError, match="no sound"):
        read_take(path)
    soundfile.write(path, np.zeros(RATE // 2), RATE)
    with pytest.raises(InputError, match="shorter than a second"):
        read_take(path)
    soundfile.write(path, np.zeros(3 * RATE), RATE)
    with pytest.raises(InputError, match="silent"):
        read_take(path)


def test_another_text() -> None:
    take = say(drill_of(LINE), Voice.HIGH, 196, speed=Speed.NATURAL)
    other = drill_of("Mister Brown had leisure to consider how much there might be in his power.")
    with pytest.raises(InputError, match="text"):
        check_take(other, record(take.samples), Delivery.CHANT)


def test_measures() -> None:
    assert measure_drift([0, 1, 2, 3], [0, 20, 40, 60]) == pytest.approx(60)
    falling = [np.geomspace(220, 180, 30)]
    ending = judge_ending(0, Tune.FALL, falling)
    assert ending is not None
    assert ending.done
    rising = judge_ending(0, Tune.RISE, falling)
    assert rising is not None
    assert not rising.done
    value, low, high = bootstrap([0.1, 0.12, 0.08, 0.11, 0.09, 0.1, 5.0], range(7))
    assert low <= value <= high < 0.2


def test_nearness_to_the_own_posture() -> None:
    """Distances in Bark: by hand from Traunmüller's formula 26.81 f / (1960 + f) - 0.53."""
    rows = [("IY", Formants(300, 2500, 3100))] * 3 + [("AA", Formants(700, 1200, 2500))] * 2
    by_vowel = {mean.vowel: mean for mean in average_vowels(rows, "IY")}
    assert by_vowel["IY"].away == 0
    assert by_vowel["AA"].away == pytest.approx(np.hypot(7.055 - 3.559, 10.181 - 15.028), abs=0.01)
    assert all(mean.away is None for mean in average_vowels(rows[2:], "IY"))


def test_the_report_of_a_short_take_is_one_page() -> None:
    """Its cautions stand on it, and what rounds to nothing has no sign."""
    drill = drill_of(SHORT)
    take = record(say(drill, Voice.LOW, 130).samples)
    report = check_take(drill, take, Delivery.CHANT, target=130)
    melody = msgspec.structs.replace(report.melody, drift=-0.2)
    document = lay_out_take(drill, msgspec.structs.replace(report, melody=melody))
    (page,) = pypdf.PdfReader(BytesIO(render(document, Format.PDF, PageOptions()))).pages
    text = page.extract_text()
    assert "Take care" in text
    assert "0 cents" in text
    assert not re.search(r"[+−]0(?:\.0)? (?:cents|semitones)", text)
