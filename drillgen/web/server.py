"""Start the page: bind, print the address, open the browser."""

from __future__ import annotations

import asyncio
import secrets
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path
from threading import Thread
from typing import Final

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from drillgen.core.errors import OptionError
from drillgen.speech.pronounce.overrides import Overrides
from drillgen.web.app import build_app
from drillgen.web.guard import Door
from drillgen.web.limits import Limits
from drillgen.web.workshop import Workshop

LOOPBACK: Final = "127.0.0.1"
DEFAULT_PORT: Final = 8737


def make_protocol(seconds: float) -> type[H11Protocol]:
    """HTTP/1.1 that hangs up on a connection whose request doesn't come in time.

    The server itself only watches connections that are idle between requests;
    one that sends its head a byte at a time would stay for ever.
    """

    class ImpatientProtocol(H11Protocol):
        """Closes a connection that has waited for a request's head too long."""

        _patience: asyncio.TimerHandle | None = None

        def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
            super().connection_made(transport)
            self._patience = self.loop.call_later(seconds, self._hang_up)

        def data_received(self, data: bytes) -> None:
            super().data_received(data)
            busy = self.cycle is not None and not self.cycle.response_complete
            if busy and self._patience is not None:
                self._patience.cancel()
                self._patience = None
            elif not busy and self._patience is None:
                self._patience = self.loop.call_later(seconds, self._hang_up)

        def on_response_complete(self) -> None:
            super().on_response_complete()
            if self._patience is None and not self.transport.is_closing():
                self._patience = self.loop.call_later(seconds, self._hang_up)

        def connection_lost(self, exc: Exception | None) -> None:
            if self._patience is not None:
                self._patience.cancel()
            super().connection_lost(exc)

        def _hang_up(self) -> None:
            self._patience = None
            if self.cycle is None or self.cycle.response_complete:
                self.transport.close()

    return ImpatientProtocol


def bind(host: str, port: int | None) -> socket.socket:
    """A socket that waits at the address. OptionError where that can't be.

    Without a port, the usual one, or a free one where that is taken.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    wanted = (DEFAULT_PORT, 0) if port is None else (port,)
    for number in wanted:
        waiting = socket.socket(family, socket.SOCK_STREAM)
        waiting.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            waiting.bind((host, number))
        except OSError as error:
            waiting.close()
            problem = error.strerror or "it is not an address of this computer"
            continue
        return waiting
    raise OptionError(
        f"can't wait at {host} port {wanted[-1]}: {problem}", "choose another --port"
    )


def serve(
    words_path: Path,
    *,
    host: str | None = None,
    port: int | None = None,
    fixed: Overrides | None = None,
    open_browser: bool = True,
    tell: Callable[[str], None] = print,
) -> None:
    """Serve the page until it is stopped (Ctrl-C).

    `host` opens it to the network: then the address has a random token.
    """
    limits = Limits()
    waiting = bind(host or LOOPBACK, port)
    door = Door(host, secrets.token_urlsafe(24)) if host else Door()
    number = waiting.getsockname()[1]
    name = host or LOOPBACK
    if name in ("0.0.0.0", "::"):
        name = LOOPBACK if name == "0.0.0.0" else "::1"
    name = f"[{name}]" if ":" in name else name
    address = f"http://{name}:{number}/" + (f"?token={door.token}" if door.token else "")

    def announce() -> None:
        tell(f"drillgen is at {address}")
        if host in ("0.0.0.0", "::"):
            tell("From another device, put this computer's own address in place of " + name + ".")
        tell("Press Ctrl-C to stop.")
        if open_browser:
            # Some browsers keep the caller waiting.
            Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    app = build_app(
        words_path,
        workshop=Workshop(words_path, fixed=fixed, limits=limits),
        door=door,
        on_start=announce,
    )
    config = uvicorn.Config(
        app,
        http=make_protocol(limits.head_time),
        ws="none",
        log_level="error",
        # A log of requests would hold the token and the times of practice.
        access_log=False,
        server_header=False,
        proxy_headers=False,
        limit_concurrency=limits.connections,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=2,
        h11_max_incomplete_event_size=16_384,
    )
    try:
        uvicorn.Server(config).run(sockets=[waiting])
    except KeyboardInterrupt:
        tell("Stopped.")
    finally:
        waiting.close()
