"""One practice page for one phone in the same network, for a short time.

A phone's browser gives its microphone to https pages alone, so a certificate is made for
the session; nobody has signed it, so the phone asks whether to go on. The address has a
random part that only the code on the screen tells. What is served is one page that was made
for this; there is no way from here to the rest.
"""

from __future__ import annotations

import hmac
import io
import ipaddress
import secrets
import socket
import ssl
import time
from collections.abc import Callable
from contextlib import closing, suppress
from importlib import import_module
from threading import Thread
from typing import Any, Final, NamedTuple

import uvicorn
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from drillgen.core.errors import InputError, ResourceError

MINUTES: Final = 20
"""So long a page can be fetched."""

Clock = Callable[[], float]


class Offer(NamedTuple):
    """A page that waits to be fetched."""

    token: str
    page: bytes
    ends: float
    """By the clock, in seconds."""


class Share:
    """Holds one page at a time, and answers for it alone."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock: Final = clock
        self._offer: Offer | None = None
        self.address = ""
        """Where it is served, without the token."""

    def offer(self, page: bytes) -> str:
        """Put a page up in place of the one before; its whole address."""
        token = secrets.token_urlsafe(18)
        self._offer = Offer(token, page, self._clock() + 60 * MINUTES)
        return f"{self.address}{token}"

    def withdraw(self) -> None:
        """Take the page down."""
        self._offer = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """The ASGI application."""
        if scope["type"] == "http":
            await self._answer(scope)(scope, receive, send)

    def _answer(self, scope: Scope) -> Response:
        headers = {
            "Cache-Control": "no-store",
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            "X-Robots-Tag": "noindex",
        }
        offer = self._offer
        if offer is not None and self._clock() >= offer.ends:
            offer = self._offer = None
        asked = scope["path"].removeprefix("/").encode()
        if offer is None or not hmac.compare_digest(asked, offer.token.encode()):
            text = "There is no page here, or no longer. Make a new code on the computer.\n"
            return Response(text, 404, headers, "text/plain; charset=utf-8")
        if scope["method"] not in ("GET", "HEAD"):
            return Response("", 405, headers)
        return Response(offer.page, 200, headers, "text/html; charset=utf-8")


class ShareServer:
    """Serves a `Share` over https in a thread of its own."""

    def __init__(self, share: Share, host: str | None = None) -> None:
        """Bind at this computer's address in its network. ResourceError where packages are
        missing, InputError where there is no network."""
        trustme = _load("trustme")
        name = host or find_address()
        self._socket: Final = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        self._socket.bind((name, 0))
        self._socket.listen(8)
        share.address = f"https://{name}:{self._socket.getsockname()[1]}/"
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        # No name of the computer or its owner goes into the certificate.
        authority = trustme.CA(organization_name="drillgen", organization_unit_name="one session")
        authority.issue_cert(name, organization_name="drillgen").configure_cert(context)
        config = configure(share, lifespan="off", log_level="critical", limit_concurrency=8)
        config.load()
        config.ssl = context
        self._server: Final = uvicorn.Server(config)
        self._thread: Final = Thread(
            target=self._server.run, kwargs={"sockets": [self._socket]}, daemon=True
        )

    def start(self) -> None:
        """Begin to answer."""
        self._thread.start()

    def stop(self) -> None:
        """End it."""
        self._server.should_exit = True
        with suppress(RuntimeError):
            self._thread.join(3.0)
        self._socket.close()


def configure(app: ASGIApp, **more: Any) -> uvicorn.Config:
    """A server that says and notes nothing of itself or its visitors."""
    return uvicorn.Config(
        app,
        http="h11",
        ws="none",
        # A log of requests would hold the token and the times of practice.
        access_log=False,
        server_header=False,
        proxy_headers=False,
        **more,
    )


def find_address() -> str:
    """This computer's address in its network. InputError where there is none."""
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe:
        try:
            # Nothing is sent: this only asks which way a packet would go (RFC 5737 address).
            probe.connect(("192.0.2.1", 9))
            found = str(probe.getsockname()[0])
        except OSError:
            found = ""
    if not found or ipaddress.ip_address(found).is_loopback:
        raise InputError("this computer is in no network", "connect it to that of the phone")
    return found


def draw_code(address: str) -> str:
    """The address as a QR code (ISO/IEC 18004), an svg element."""
    drawn = io.BytesIO()
    _load("segno").make(address, error="m", micro=False).save(
        drawn, kind="svg", xmldecl=False, nl=False, light="#fff", omitsize=True, svgclass="code"
    )
    return drawn.getvalue().decode()


def _load(package: str) -> Any:
    """A package of the extra. ResourceError where it is missing."""
    try:
        return import_module(package)
    except ModuleNotFoundError:
        mend = 'run: pip install "drillgen[share]"'
        raise ResourceError(f"the package {package} is missing", mend) from None
