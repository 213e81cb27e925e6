"""Start the page: bind, print the address, open the browser."""

from __future__ import annotations

import asyncio
import math
import secrets
import socket
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path
from threading import Thread
from typing import Final

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send

from drillgen.core.errors import OptionError
from drillgen.speech.pronounce.overrides import Overrides
from drillgen.web.app import build_app
from drillgen.web.guard import Door
from drillgen.web.limits import Limits
from drillgen.web.share import Share, ShareServer, configure
from drillgen.web.worker import Workers
from drillgen.web.workshop import Workshop

LOOPBACK: Final = "127.0.0.1"
DEFAULT_PORT: Final = 8737


Peer = tuple[str, int]


class Patience:
    """Hangs up on connections that don't come to the point.

    The server itself only watches connections that are idle between requests; one
    that sends its head a byte at a time would stay for ever. Here a connection
    without a request under way for `seconds` is closed.
    """

    def __init__(self, app: ASGIApp, seconds: float) -> None:
        self._app: Final = app
        self._seconds: Final = seconds
        self._ended: Final[dict[Peer, float]] = {}
        """When the latest request of a connection ended; inf: one is under way."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, and note that its connection is busy."""
        peer = scope.get("client")
        if peer is None:
            await self._app(scope, receive, send)
            return
        self._ended[tuple(peer)] = math.inf
        try:
            await self._app(scope, receive, send)
        finally:
            self._ended[tuple(peer)] = time.monotonic()

    def watch(self, transport: asyncio.Transport) -> None:
        """Look after a new connection."""
        peer = tuple(transport.get_extra_info("peername")[:2])
        loop, began = asyncio.get_running_loop(), time.monotonic()

        def look() -> None:
            since = self._ended.get(peer, began)
            left = since + self._seconds - time.monotonic()
            if transport.is_closing() or left <= 0:
                self._ended.pop(peer, None)
                transport.close()
            else:
                loop.call_later(min(left, self._seconds), look)

        look()


def watched(protocol: type[asyncio.Protocol], patience: Patience) -> type[asyncio.Protocol]:
    """The server's protocol, whose connections are looked after."""

    class Watched(protocol):  # type: ignore[valid-type, misc]
        def connection_made(self, transport: asyncio.Transport) -> None:
            super().connection_made(transport)
            patience.watch(transport)

    return Watched


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
        f"can't wait at {host} port {wanted[-1]}: {problem}", "choose another --host or --port"
    )


def serve(
    words_path: Path,
    *,
    host: str | None = None,
    port: int | None = None,
    fixed: Overrides | None = None,
    clients: Path | None = None,
    share: bool = False,
    open_browser: bool = True,
    tell: Callable[[str], None] = print,
) -> None:
    """Serve the page until it is stopped (Ctrl-C).

    `host` opens it to the network: then the address has a random token. `clients` is the
    folder of the clients' files. `share` lets practice pages go to phones in the network.
    """
    limits = Limits()
    waiting = bind(host or LOOPBACK, port)
    # From here on a browser is kept waiting, not refused.
    waiting.listen(limits.connections)
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
        if share:
            tell(
                "“To a phone” shows a code; anyone in this network who sees it can open that page."
            )
        tell("Press Ctrl-C to stop.")
        if open_browser:
            # Some browsers keep the caller waiting.
            Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    workshop = Workshop(words_path, fixed=fixed, limits=limits, clients=clients)
    shared = Share() if share else None
    sharing = ShareServer(shared) if shared is not None else None
    if sharing is not None:
        sharing.start()
    workers = Workers(words_path, fixed, limits, clients)
    app = build_app(
        words_path, workshop=workshop, door=door, workers=workers, share=shared, on_start=announce
    )
    config = _configure(app, limits)
    try:
        _Server(config, workers).run(sockets=[waiting])
    except KeyboardInterrupt:
        tell("Stopped.")
    finally:
        workers.stop()
        if sharing is not None:
            sharing.stop()
        waiting.close()


class _Server(uvicorn.Server):
    """Ends what takes long before it waits for those who wait for that."""

    def __init__(self, config: uvicorn.Config, workers: Workers) -> None:
        super().__init__(config)
        self._workers: Final = workers

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Hang up."""
        self._workers.stop()
        await super().shutdown(sockets)


def _configure(app: ASGIApp, limits: Limits) -> uvicorn.Config:
    patience = Patience(app, limits.head_time)
    config = configure(
        patience,
        log_level="error",
        limit_concurrency=limits.connections,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=2,
        h11_max_incomplete_event_size=16_384,
    )
    config.load()
    config.http_protocol_class = watched(config.http_protocol_class, patience)
    return config
