"""Notes and hertz."""

from __future__ import annotations

from math import log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import OptionError
from drillgen.core.pitch import hz_to_midi, midi_to_hz, parse_pitch, pitch_at


# ISO 16:1975 sets A4 to 440 Hz; the other values follow in equal temperament and
# stand in any handbook table (from memory), to 0.01 Hz.
@pytest.mark.parametrize(
    ("note", "hz"),
    [
        ("A4", 440.00),
        ("C4", 261.63),
        ("G3", 196.00),
        ("A3", 220.00),
        ("F#3", 185.00),
        ("Gb3", 185.00),
        ("E3", 164.81),
        ("B3", 246.94),
        ("Cb4", 246.94),
        ("B#3", 261.63),
        ("g3", 196.00),
    ],
)
def test_notes(note: str, hz: float) -> None:
    assert parse_pitch(note).hz == pytest.approx(hz, abs=0.005)


def test_frequency_finds_its_note() -> None:
    pitch = parse_pitch("196 Hz")
    assert (pitch.note, pitch.hz) == ("G3", 196.0)
    assert abs(pitch.cents) < 0.1
    assert parse_pitch("200").cents == pytest.approx(34.98, abs=0.05)


@pytest.mark.parametrize("text", ["", "H3", "G", "G33", "-5", "0", "20", "5000", "G9", "196 kHz"])
def test_bad_pitch(text: str) -> None:
    with pytest.raises(OptionError, match="G3"):
        parse_pitch(text)


@settings(derandomize=True, deadline=None)
@given(st.floats(52, 980))
def test_round_trip(hz: float) -> None:
    assert midi_to_hz(hz_to_midi(hz)) == pytest.approx(hz)
    pitch = pitch_at(hz)
    assert -50.001 <= pitch.cents <= 50.001
    base = parse_pitch(pitch.note).hz
    assert 1200 * log2(hz / base) == pytest.approx(pitch.cents, abs=1e-6)
