"""The files that phones record, made here with libav, and what only looks like one."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from drillgen.core.errors import InputError
from drillgen.sound.ear.listen import RATE, read_take

SECONDS = 3.0


def _sing(rate: int) -> Any:
    """A tone that swells, so that a shift in time or a lost block would show."""
    time = np.arange(round(SECONDS * rate)) / rate
    return (0.5 * np.sin(np.pi * time / SECONDS) * np.sin(2 * np.pi * 220 * time)).astype("f4")


def make_file(
    container: str, coding: str, *, rate: int = 48_000, stereo: bool = False, picture: bool = False
) -> bytes:
    """A sound file, or a video of a few grey pictures; without a coding it has no sound."""
    held = io.BytesIO()
    with av.open(held, "w", format=container) as file:
        if picture:
            video = file.add_stream("mpeg4", rate=10)
            video.width = video.height = 64
            video.pix_fmt = "yuv420p"
        if coding:
            layout = "stereo" if stereo else "mono"
            audio = file.add_stream(coding, rate=rate, layout=layout)
            assert isinstance(audio, av.AudioStream)
            rows = np.stack([_sing(rate)] * (1 + stereo))
            frame = av.AudioFrame.from_ndarray(rows, format="fltp", layout=layout)
            frame.sample_rate = rate
            for sound in (frame, None):
                file.mux(audio.encode(sound))
        for _ in range(10 * picture):
            grey = np.full((64, 64, 3), 128, np.uint8)
            file.mux(video.encode(av.VideoFrame.from_ndarray(grey)))
        if picture:
            file.mux(video.encode(None))
    return held.getvalue()


@pytest.mark.parametrize(
    ("container", "coding", "rate", "stereo", "picture"),
    [
        ("ipod", "aac", 44_100, False, False),
        ("mp4", "aac", 48_000, True, True),
        ("mov", "aac", 44_100, True, True),
        ("3gp", "aac", 16_000, False, False),
        ("webm", "libopus", 48_000, False, False),
        ("ogg", "libopus", 48_000, True, False),
        ("caf", "alac", 44_100, True, False),
        ("adts", "aac", 22_050, False, False),
        ("mp3", "libmp3lame", 44_100, True, False),
        ("wav", "pcm_s16le", 44_100, True, False),
        ("amr", "libopencore_amrnb", 8_000, False, False),
    ],
)
def test_a_phone_s_file_holds_what_was_said(
    container: str, coding: str, rate: int, stereo: bool, picture: bool, tmp_path: Path
) -> None:
    data = make_file(container, coding, rate=rate, stereo=stereo, picture=picture)
    path = tmp_path / "take"
    path.write_bytes(data)
    for take in (read_take(path), read_take(io.BytesIO(data))):
        assert take.rate == rate
        # Coders add up to a tenth of a second of silence.
        assert take.seconds == pytest.approx(SECONDS, abs=0.12)
        power = np.abs(np.fft.rfft(take.samples[RATE : 2 * RATE]))
        assert int(power.argmax()) == 220
        middle = float(np.abs(take.samples).argmax()) / RATE
        assert middle == pytest.approx(SECONDS / 2, abs=0.15)


def test_a_long_take_is_cut_off_while_it_is_read() -> None:
    with pytest.raises(InputError, match="longer than 0 minutes"):
        read_take(io.BytesIO(make_file("webm", "libopus")), "the take", longest=2)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (make_file("mp4", "", picture=True), "a video or picture without sound"),
        (make_file("ipod", "aac")[:9000], "no sound that can be read"),
        (make_file("webm", "libopus")[:200], "no sound that can be read"),
        (b"#EXTM3U\n#EXTINF:10,\nhttp://localhost/take.mp3\n", "no sound that can be read"),
        (b"ffconcat version 1.0\nfile take.wav\n", "no sound that can be read"),
        (b"Two boats on the quay.\n" * 40, "no sound that can be read"),
        (b"", "no sound that can be read"),
    ],
)
def test_what_is_no_take_is_one_line(data: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "take.m4a"
    path.write_bytes(data)
    for source in (path, io.BytesIO(data)):
        with pytest.raises(InputError, match=says) as caught:
            read_take(source, "take.m4a")
        assert "\n" not in str(caught.value)


def test_a_recording_that_breaks_off_is_read_as_far_as_it_goes() -> None:
    data = make_file("webm", "libopus")
    assert 1 < read_take(io.BytesIO(data[: len(data) * 2 // 3])).seconds < SECONDS


def test_what_is_no_number_is_silence() -> None:
    """A file of floating point numbers may hold anything (IEEE 754)."""
    held = io.BytesIO()
    samples = _sing(RATE)
    samples[1000:1010] = [np.nan, np.inf, -np.inf, 1e38, -1e38, 9, 0, 0, 0, 0]
    with av.open(held, "w", format="wav") as file:
        audio = file.add_stream("pcm_f32le", rate=RATE, layout="mono")
        assert isinstance(audio, av.AudioStream)
        frame = av.AudioFrame.from_ndarray(samples[None], format="flt", layout="mono")
        frame.sample_rate = RATE
        for sound in (frame, None):
            file.mux(audio.encode(sound))
    held.seek(0)
    take = read_take(held, "x.wav")
    assert np.isfinite(take.samples).all()
    assert np.abs(take.samples).max() <= 10
