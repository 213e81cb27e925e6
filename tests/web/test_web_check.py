"""A take that is checked in the local page: the same report, and nothing of it is kept."""

from __future__ import annotations

import io
import tempfile
from typing import Any

import numpy as np
import pytest
import soundfile

from drillgen.core.options import DrillOptions
from drillgen.core.values import Delivery
from drillgen.sound.synth import RATE, Speed, Synth, Voice
from drillgen.sound.voice import gather_groups, speak_group
from drillgen.speech.pipeline import make_drill
from drillgen.web import checking

TEXT = "Mara opens the kiosk at seven. Two boats leave the harbour."
SAME = {"sec-fetch-site": "same-origin"}


def record_text() -> bytes:
    """The chant of the text as a sound file."""
    synth, quiet = Synth.load(), np.zeros(RATE // 3)
    pieces = [quiet]
    for group in gather_groups(make_drill(TEXT, DrillOptions(rungs=0)), Delivery.CHANT):
        said = speak_group(
            group,
            synth,
            hz=196,
            delivery=Delivery.CHANT,
            voice=Voice.HIGH,
            speed=Speed.NATURAL,
        )
        pieces += [0.5 * said.samples, quiet]
    held = io.BytesIO()
    soundfile.write(held, np.concatenate(pieces), RATE, format="FLAC")
    return held.getvalue()


def send(visitor: Any, take: bytes, kind: str = "look", **fields: str) -> Any:
    """The form as a browser sends it."""
    sent = {"text": TEXT, "pitch": "G3", "delivery": "chant", "format": kind, **fields}
    parts = [
        f'--line\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in sent.items()
    ]
    sound = b'--line\r\nContent-Disposition: form-data; name="take"; filename="a.flac"\r\n'
    body = b"".join(
        [*parts, sound, b"Content-Type: audio/flac\r\n\r\n", take, b"\r\n--line--\r\n"]
    )
    headers = {**SAME, "content-type": "multipart/form-data; boundary=line"}
    return visitor.ask("POST", "/checked", headers=headers, content=body)


def test_the_page_takes_the_text_along(visitor: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    assert 'formaction="/check"' in visitor.get("/").text
    answer = visitor.post("/check", {"text": TEXT, "pitch": "A3"})
    assert answer.status_code == 200
    assert "Two boats leave" in answer.text
    assert "Pitch asked for: A3" in answer.text
    assert visitor.post("/check", {"text": ""}).status_code == 422
    assert visitor.post("/check", {"text": "boat " * 3000}).status_code == 422
    monkeypatch.setattr(checking, "NEEDED", ("no_such_package",))
    answer = visitor.post("/check", {"text": TEXT})
    assert "drillgen[ear]" in answer.text
    assert "<form" not in answer.text


def test_the_report_comes_back_and_nothing_is_written(
    visitor: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pocketsphinx")
    pytest.importorskip("parselmouth")

    def never(*_: object, **__: object) -> None:
        raise AssertionError("a file of its own")

    monkeypatch.setattr(tempfile, "TemporaryFile", never)
    monkeypatch.setattr(tempfile, "NamedTemporaryFile", never)
    answer = send(visitor, record_text())
    assert answer.status_code == 200, answer.text
    assert "style-src 'unsafe-inline'" in answer.headers["content-security-policy"]
    assert "What the take shows" in answer.text
    assert "G3" in answer.text


@pytest.mark.parametrize(
    ("take", "says"),
    [
        (b"", "There is no take yet"),
        (b"\x00\x00\x00\x18ftypmp42" + bytes(500), "no sound that can be read"),
    ],
)
def test_bad_takes_are_one_clear_line(visitor: Any, take: bytes, says: str) -> None:
    pytest.importorskip("parselmouth")
    answer = send(visitor, take)
    assert answer.status_code == 422
    assert says in answer.text


def test_a_long_take_and_a_large_one(visitor: Any) -> None:
    pytest.importorskip("parselmouth")
    held = io.BytesIO()
    soundfile.write(held, np.zeros(8000 * 660), 8000, format="FLAC")
    answer = send(visitor, held.getvalue())
    assert "longer than 10 minutes" in answer.text
    headers = {**SAME, "content-type": "multipart/form-data; boundary=line"}
    headers["content-length"] = "900000000"
    answer = visitor.ask("POST", "/checked", headers=headers, content=b"")
    assert answer.status_code == 413
    assert "one channel" in answer.text


def test_a_broken_form_and_another_site(visitor: Any) -> None:
    headers = {**SAME, "content-type": "multipart/form-data"}
    assert visitor.ask("POST", "/checked", headers=headers, content=b"x").status_code == 422
    foreign = {**headers, "sec-fetch-site": "cross-site"}
    assert visitor.ask("POST", "/checked", headers=foreign, content=b"x").status_code == 403
