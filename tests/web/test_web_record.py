"""The teacher's recordings: put into a practice page or a zip, and kept nowhere."""

from __future__ import annotations

import base64
import io
import json
import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from drillgen.sound.synth import RATE

TEXT = "# Kiosk\n\nMara opens the kiosk. Two boats leave."
SAME = {"sec-fetch-site": "same-origin", "content-type": "application/json", "x-part": "1"}


def hum(seconds: float, hz: float = 200.0) -> str:
    """A take as the script sends it."""
    wave = 0.3 * np.sin(2 * np.pi * hz * np.arange(round(seconds * RATE)) / RATE)
    return base64.b64encode((wave * 32767).astype("<i2").tobytes()).decode()


def send(visitor: Any, takes: list[dict[str, object]], kind: str = "page", **fields: str) -> Any:
    body = {"fields": {"text": TEXT, **fields}, "takes": takes, "kind": kind}
    return visitor.ask("POST", "/recorded", headers=SAME, content=json.dumps(body).encode())


def read_sound(page: str) -> list[Any]:
    """The models of a practice page, of the version that each delivery is about."""
    found = re.search(r'<script type="application/json" id="sound">(.*?)</script>', page, re.S)
    assert found is not None
    return [rows[-1] if rows else [] for rows in json.loads(found[1])]


def test_the_page_lists_the_lines_and_may_use_the_microphone(visitor: Any) -> None:
    answer = visitor.post("/record", {"text": TEXT})
    assert answer.status_code == 200
    assert "microphone=(self)" in answer.headers["permissions-policy"]
    assert "microphone=()" in visitor.get("/").headers["permissions-policy"]
    assert "Two boats leave." in answer.text
    assert "tee beets leave." in answer.text
    assert visitor.post("/record", {"text": ""}).status_code == 422
    assert visitor.post("/record", {"text": "boat " * 700}).status_code == 422


def test_a_take_stands_in_the_page_and_a_computer_says_the_rest(visitor: Any) -> None:
    answer = send(visitor, [{"delivery": "chant", "number": 1, "sound": hum(1.5)}])
    assert answer.status_code == 200, answer.text
    assert 'filename="kiosk-page.html"' in answer.headers["content-disposition"]
    chant, inflected, carried = read_sound(answer.text)
    assert (len(chant), inflected, carried) == (2, [], [])
    taken = chant[1]
    assert taken["seconds"] == pytest.approx(1.5, abs=0.01)
    assert taken["syllables"][0] < taken["syllables"][-1] < 1.5
    samples, rate = soundfile.read(io.BytesIO(base64.b64decode(taken["data"])))
    spectrum = np.abs(np.fft.rfft(samples[rate // 4 : rate]))
    assert np.argmax(spectrum) * rate / len(samples[rate // 4 : rate]) == pytest.approx(200, abs=3)
    assert "your teacher says a line" in answer.text
    assert "a computer says the line" in answer.text


def test_the_files_come_in_order_without_dates_or_names(visitor: Any) -> None:
    takes = [
        {"delivery": "carry-over", "number": 0, "sound": hum(0.5)},
        {"delivery": "chant", "number": 1, "sound": hum(0.4)},
    ]
    answer = send(visitor, takes, "files", discreet="1")
    assert 'filename="practice-sound.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        assert packed.namelist() == ["chant-002.mp3", "carry-over-001.mp3"]
        assert {entry.date_time[0] for entry in packed.infolist()} == {1980}


@pytest.mark.parametrize(
    ("takes", "says"),
    [
        ([], "Nothing is recorded"),
        ([{"delivery": "chant", "number": 7, "sound": hum(0.5)}], "text has changed"),
        ([{"delivery": "chant", "number": 0, "sound": hum(0.05)}], "too short"),
        ([{"delivery": "chant", "number": 0, "sound": "%%"}], "record it again"),
        ([{"delivery": "song", "number": 0, "sound": ""}], "can’t be read"),
        ([{"delivery": "chant", "number": -1, "sound": ""}], "can’t be read"),
    ],
)
def test_bad_recordings_are_one_clear_line(visitor: Any, takes: Any, says: str) -> None:
    answer = send(visitor, takes)
    assert answer.status_code == 422
    assert says.replace("’", "'") in answer.json()["error"]


def test_a_broken_request_and_another_site_are_refused(visitor: Any, words_file: Path) -> None:
    assert visitor.ask("POST", "/recorded", headers=SAME, content=b"{").status_code == 422
    foreign = {**SAME, "sec-fetch-site": "cross-site"}
    assert visitor.ask("POST", "/recorded", headers=foreign, content=b"{}").status_code == 403
    assert not words_file.parent.exists(), "nothing is written"


def test_a_computers_voice_on_the_practice_page(visitor: Any) -> None:
    fields = {"text": "Two boats.", "voice": "high", "format": "practice"}
    page = visitor.post("/download", fields).text
    assert [len(row) for row in read_sound(page)] == [1, 1, 1]
    assert "a computer says a line" in page
    assert visitor.post("/download", {**fields, "voice": "choir"}).status_code == 422
