"""The reference tone, measured by an outside tracker."""

from __future__ import annotations

import io
import math
from pathlib import Path

import numpy as np
import parselmouth
import pytest
import soundfile

from drillgen.cli import run
from drillgen.core.errors import OptionError
from drillgen.core.pitch import parse_pitch
from drillgen.sound.audio import FORMATS, Samples, encode_sound
from drillgen.sound.tone import PEAK, RATE, Timbre, make_tone


def track_hz(samples: Samples, rate: int = RATE) -> float:
    """Median pitch by Praat's autocorrelation method (Boersma 1993)."""
    sound = parselmouth.Sound(samples, rate)
    values = sound.to_pitch_ac(pitch_floor=60, pitch_ceiling=700, very_accurate=True)
    found = values.selected_array["frequency"]
    return float(np.median(found[found > 0]))


# Frequencies of the equal-tempered scale at A4 = 440 Hz (ISO 16:1975; handbook table).
@pytest.mark.parametrize(
    ("note", "hz"), [("C3", 130.81), ("G3", 196.0), ("A3", 220.0), ("C4", 261.63), ("Bb4", 466.16)]
)
@pytest.mark.parametrize("timbre", Timbre)
def test_an_outside_tracker_finds_the_note(note: str, hz: float, timbre: Timbre) -> None:
    samples = make_tone(parse_pitch(note).hz, 1.5, timbre)
    assert abs(1200 * math.log2(track_hz(samples) / hz)) < 1


@pytest.mark.parametrize("kind", FORMATS)
def test_every_format_keeps_pitch_length_and_level(kind: str) -> None:
    data = encode_sound(make_tone(196.0, 2.0), RATE, kind)
    samples, rate = soundfile.read(io.BytesIO(data))
    assert rate == RATE
    # MP3 pads to whole frames.
    assert abs(len(samples) / rate - 2.0) < 0.06
    assert abs(1200 * math.log2(track_hz(samples, rate) / 196.0)) < 1
    assert abs(20 * math.log10(np.abs(samples).max() / PEAK)) < 0.6


def test_the_tone_is_soft_at_both_ends_and_peaks_at_minus_12_dbfs() -> None:
    samples = make_tone(196.0, 1.0)
    assert 20 * math.log10(np.abs(samples).max()) == pytest.approx(-12.0, abs=0.01)
    loud = np.abs(samples[RATE // 2 - 2000 : RATE // 2 + 2000]).max()
    assert np.abs(samples[:100]).max() < 0.05 * loud
    assert np.abs(samples[-100:]).max() < 0.05 * loud


def test_the_same_tone_is_the_same_file() -> None:
    first, second = (encode_sound(make_tone(196.0, 0.5), RATE, "mp3") for _ in range(2))
    assert first == second


@pytest.mark.parametrize(
    ("hz", "seconds"), [(5.0, 1.0), (9000.0, 1.0), (196.0, 0.0), (196.0, 1e6)]
)
def test_useless_tones_are_refused(hz: float, seconds: float) -> None:
    with pytest.raises(OptionError):
        make_tone(hz, seconds)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "g3.flac"
    assert run(["tone", "G3", "--seconds", "1", "-o", str(path)]) == 0
    samples, rate = soundfile.read(path)
    assert track_hz(samples, rate) == pytest.approx(196.0, abs=0.05)
    other = ["tone", "A3", "--a4", "415", "--seconds", "1", "-o", str(path)]
    assert run(other) == 2, "another tone is not replaced unasked"
    assert run([*other, "--force"]) == 0
    samples, rate = soundfile.read(path)
    assert track_hz(samples, rate) == pytest.approx(207.5, abs=0.05)
    capsys.readouterr()
    for bad in (["H3"], ["G3", "-o", "x.aac"], ["G3", "--a4", "12"], ["G3", "--timbre", "saw"]):
        assert run(["tone", *bad]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1
