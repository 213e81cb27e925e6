"""A real server on loopback: start, address, slow connections, stopping."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import islice, product
from pathlib import Path
from typing import Any

import httpx
import pytest
import typer

from drillgen.cli import serve as serve_command
from drillgen.cli.options import with_options
from drillgen.core.errors import DrillgenError, OptionError, ResourceError
from drillgen.web import server
from drillgen.web.server import bind

SERVE = """
import sys
from pathlib import Path
from typing import Any
from drillgen.web import limits, server
patient = limits.Limits
server.Limits = lambda: patient(head_time=0.6)
host = sys.argv[2] if len(sys.argv) > 2 else None
server.serve(Path(sys.argv[1]), host=host, port=0, open_browser=False)
"""


def start(*arguments: str) -> tuple[subprocess.Popen[str], str]:
    """A server in a process of its own, and what it prints once it answers."""
    process = subprocess.Popen(
        [sys.executable, "-u", "-c", SERVE, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    lines = ""
    while "Press Ctrl-C" not in lines:
        line = process.stdout.readline()
        assert line, lines
        lines += line
    return process, lines


def address_in(lines: str) -> str:
    """The address among the lines."""
    found = re.search(r"http://\S+", lines)
    assert found, lines
    return found.group()


def stop(process: subprocess.Popen[str]) -> str:
    """Ctrl-C; returns what was printed."""
    process.send_signal(signal.SIGINT)
    out, errors = process.communicate(timeout=20)
    assert errors == ""
    assert process.returncode == 0
    return out


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a server that waits 0.6 seconds for a request's head."""
    process, lines = start(str(tmp_path_factory.mktemp("served") / "words.txt"))
    yield address_in(lines)
    assert "Stopped." in stop(process)


def place_of(address: str) -> tuple[str, int]:
    url = httpx.URL(address)
    assert url.port is not None
    return url.host, url.port


def test_answers_on_loopback_only(address: str) -> None:
    assert address.startswith("http://127.0.0.1:")
    answer = httpx.get(address)
    assert answer.status_code == 200
    assert "Pellow Quay" in answer.text
    assert "server" not in answer.headers


def read_all(connection: socket.socket) -> bytes:
    """Everything until the other side hangs up."""
    data = b""
    while piece := connection.recv(65_536):
        data += piece
    return data


def test_ctrl_c_ends_it_during_a_long_guess(tmp_path: Path) -> None:
    """6,000 names that no dictionary has: who waits for them is told, nobody else is."""
    process, lines = start(str(tmp_path / "words.txt"))
    host, port = place_of(address_in(lines))
    parts = product("bdgklmnprstv", "aeiou", "bdgklmnprst", "aeiou", "lmn")
    names = " ".join("".join(part).capitalize() for part in islice(parts, 6000))
    body = f"format=pdf&text={names.replace(' ', '+')}"
    head = f"POST /download HTTP/1.1\r\nHost: {host}:{port}\r\nSec-Fetch-Site: same-origin\r\n"
    head += "Content-Type: application/x-www-form-urlencoded\r\n"
    head += f"Content-Length: {len(body)}\r\n\r\n"
    with socket.create_connection((host, port), timeout=20) as connection:
        connection.sendall((head + body).encode())
        time.sleep(0.5)
        assert stop(process).endswith("Stopped.\n")
        assert read_all(connection).startswith(b"HTTP/1.1 503")


def test_a_head_that_drips_is_hung_up_on(address: str) -> None:
    start_time = time.monotonic()
    with socket.create_connection(place_of(address), timeout=10) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\n")
        try:
            for letter in b"Host: localhost\r\nX: " + b"y" * 100:
                connection.sendall(bytes([letter]))
                time.sleep(0.05)
            data = read_all(connection)
        except (BrokenPipeError, ConnectionResetError):
            data = b""
    assert not data.startswith(b"HTTP/1.1 200")
    assert time.monotonic() - start_time < 5


def test_a_silent_connection_is_hung_up_on(address: str) -> None:
    start_time = time.monotonic()
    with socket.create_connection(place_of(address), timeout=10) as connection:
        assert read_all(connection) == b""
    assert 0.4 < time.monotonic() - start_time < 5


def test_a_second_head_that_drips_is_hung_up_on(address: str) -> None:
    host, port = place_of(address)
    with socket.create_connection((host, port), timeout=10) as connection:
        connection.sendall(f"GET /mark.svg HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n".encode())
        first = connection.recv(65_536)
        assert first.startswith(b"HTTP/1.1 200")
        start_time = time.monotonic()
        connection.sendall(b"GET / HTTP/1.1\r\nHost")
        read_all(connection)
        assert time.monotonic() - start_time < 5


def test_silent_connections_do_not_keep_others_out(address: str) -> None:
    idle = [socket.create_connection(place_of(address), timeout=10) for _ in range(30)]
    try:
        assert httpx.get(address, timeout=5).status_code == 200
    finally:
        for connection in idle:
            connection.close()


def test_a_huge_head_is_refused(address: str) -> None:
    host, port = place_of(address)
    with socket.create_connection((host, port), timeout=10) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nX: " + b"y" * 100_000)
        try:
            data = read_all(connection)
        except ConnectionResetError:
            data = b""
    assert not data.startswith(b"HTTP/1.1 200")


def test_open_to_the_network_needs_the_token(tmp_path: Path) -> None:
    process, lines = start(str(tmp_path / "words.txt"), "0.0.0.0")
    address = address_in(lines)
    assert "From another device" in lines
    try:
        plain, _, token = address.partition("?token=")
        assert len(token) >= 32
        assert httpx.get(plain).status_code == 403
        with httpx.Client() as client:
            assert client.get(address).status_code == 200
            page = client.get(plain)
            assert page.status_code == 200
            assert token not in page.text
    finally:
        stop(process)


def test_a_taken_port() -> None:
    with bind("127.0.0.1", 0) as first:
        first.listen()
        taken = first.getsockname()[1]
        with pytest.raises(OptionError, match="choose another --host or --port"):
            bind("127.0.0.1", taken)
    with pytest.raises(OptionError):
        bind("192.0.2.1", 0)


def test_the_usual_port_gives_way() -> None:
    with bind("127.0.0.1", None) as first:
        first.listen()
        with bind("127.0.0.1", None) as second:
            assert first.getsockname()[1] != second.getsockname()[1]


def test_bad_host() -> None:
    with pytest.raises(DrillgenError):
        bind("no such host.invalid", 0)


# The command


def run_command(*arguments: str) -> None:
    app = typer.Typer()
    app.command()(with_options(serve_command.serve))
    typer.main.get_command(app).main(list(arguments), standalone_mode=False)


def test_command_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(sys.modules, "drillgen.web.server")
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    with pytest.raises(ResourceError) as caught:
        run_command("--no-browser")
    assert str(caught.value) == (
        "the package uvicorn is missing; run: pip install starlette uvicorn"
    )


def test_command_passes_everything_on(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    given: list[Any] = []
    monkeypatch.setattr(server, "serve", lambda *a, **k: given.extend([a, k]))
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own.txt"))
    (tmp_path / "more.txt").write_text("tide  T IY1 D\n", encoding="utf-8")
    run_command("--port", "0", "--no-browser", "--words", str(tmp_path / "more.txt"))
    (path,), options = given
    assert path == tmp_path / "own.txt"
    assert (options["port"], options["host"], options["open_browser"]) == (0, None, False)
    assert [entry.word for entry in options["fixed"]] == ["tide"]
    with pytest.raises(OptionError, match="--port"):
        run_command("--port", "70000")
