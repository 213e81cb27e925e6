"""A practice page for a phone: https, one address, for a time; nothing else is served."""

from __future__ import annotations

import re
import ssl
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.web.app import build_app
from drillgen.web.share import MINUTES, Share, ShareServer, draw_code
from drillgen.web.workshop import Workshop


@pytest.fixture(scope="module")
def shared() -> Iterator[Share]:
    """A share that is served on this computer."""
    share = Share()
    server = ShareServer(share, "127.0.0.1")
    server.start()
    yield share
    server.stop()


def fetch(address: str, method: str = "GET") -> httpx.Response:
    """Ask as a phone does that went past the warning."""
    for _ in range(40):
        try:
            return httpx.request(method, address, verify=False)
        except httpx.ConnectError:
            time.sleep(0.05)
    raise AssertionError("nobody answers")


def test_the_page_is_served_at_its_address_alone(shared: Share) -> None:
    address = shared.offer(b"<p>page</p>")
    assert address.startswith("https://")
    assert len(address.rpartition("/")[2]) >= 24
    assert fetch(address).text == "<p>page</p>"
    for other in (shared.address, address[:-1], f"{address}/", f"{shared.address}page.css"):
        assert fetch(other).status_code == 404
    assert fetch(address, "POST").status_code == 405
    assert fetch(address).headers["cache-control"] == "no-store"
    later = shared.offer(b"<p>other</p>")
    assert fetch(address).status_code == 404
    assert fetch(later).text == "<p>other</p>"
    shared.withdraw()
    assert fetch(later).status_code == 404


def test_without_tls_there_is_no_answer(shared: Share) -> None:
    address = shared.offer(b"x")
    with pytest.raises(httpx.HTTPError):
        httpx.get(address.replace("https", "http"))


def test_the_certificate_names_no_machine(shared: Share) -> None:
    import socket

    host, port = re.findall(r"https://([^:]+):(\d+)/", shared.address)[0]
    pem = ssl.get_server_certificate((host, int(port)))
    assert socket.gethostname().encode() not in ssl.PEM_cert_to_DER_cert(pem)


def test_an_offer_ends() -> None:
    now = 0.0
    share = Share(lambda: now)
    share.address = "https://x/"
    scope = {"type": "http", "method": "GET"}
    token = share.offer(b"page").rpartition("/")[2]
    now = 60.0 * MINUTES - 1
    assert share._answer({**scope, "path": f"/{token}"}).status_code == 200
    now += 2
    assert share._answer({**scope, "path": f"/{token}"}).status_code == 404
    now -= 2
    assert share._answer({**scope, "path": f"/{token}"}).status_code == 404


def test_the_desk_makes_a_code(tmp_path: Path, lexicon: Lexicon, visitor: Any) -> None:
    plain = visitor.post("/share", {"text": "Two boats."})
    assert plain.status_code == 422
    assert "--share" in plain.text
    share = Share()
    share.address = "https://192.0.2.7:5000/"
    workshop = Workshop(tmp_path / "words.txt", lexicon=lexicon)
    visitor.app = build_app(tmp_path / "words.txt", workshop=workshop, share=share)
    assert "To a phone" in visitor.get("/").text
    page = visitor.post("/share", {"text": "Two boats."})
    assert page.status_code == 200
    address = re.search(r"https://192\.0\.2\.7:5000/[\w-]+", page.text)
    assert address is not None
    assert draw_code(address.group()) in page.text
    stopped = visitor.post("/share", {"act": "stop"})
    assert (stopped.status_code, stopped.headers["location"]) == (303, "/")
