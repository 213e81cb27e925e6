"""The wall around the page: who may ask, how much, and what every answer says.

Three attacks matter to a server on loopback. A page on the web can send the
browser here (cross-site request), so a change needs proof that it comes from
our own page. Its name can be made to point here (DNS rebinding), so only our
own names are answered. A neighbour on the network can ask directly where the
owner has opened the door, so that needs a token.

No anti-forgery token is needed in the forms: there is no login that a foreign
page could ride on, and a POST is refused unless the browser itself says that
it comes from this origin (Fetch Metadata, or the Origin header of RFC 6454).
"""

from __future__ import annotations

import hmac
import ipaddress
import sys
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Final

import anyio
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from drillgen.web.forms import TooLargeError
from drillgen.web.limits import Limits

COOKIE: Final = "drillgen_token"

HEADERS: Final[Mapping[str, str]] = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
        "img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    # A text may out its owner: no copy of it stays behind in a cache.
    "Cache-Control": "no-store",
}

_LOOPBACK_NAMES: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})


@dataclass(frozen=True, slots=True)
class Door:
    """Who is let in."""

    host: str = ""
    """The address that was opened to the network; empty: loopback only."""

    token: str = ""
    """What a visitor must show; empty only on loopback."""

    def __post_init__(self) -> None:
        if self.host and not self.token:
            raise ValueError("a door to the network needs a token")

    def knows_name(self, host: str) -> bool:
        """Whether a Host header names this server.

        On the network any address in figures will do: rebinding needs a name.

        >>> Door().knows_name("localhost:8000"), Door().knows_name("evil.example")
        (True, False)
        """
        name = _strip_port(host.lower())
        if name in _LOOPBACK_NAMES:
            return True
        return bool(self.host) and (name == self.host.lower() or _is_address(name))

    def is_open_to(self, request: Request) -> bool:
        """Whether the visitor shows the token, where one is needed."""
        if not self.token:
            return True
        shown = [_cookie(request), request.headers.get("authorization", "")]
        # compare_digest takes as long for a wrong first letter as for a wrong last.
        return any(
            hmac.compare_digest(value.removeprefix("Bearer ").encode(), self.token.encode())
            for value in shown
        )


def _strip_port(host: str) -> str:
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _cookie(request: Request) -> str:
    try:
        morsel = SimpleCookie(request.headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return morsel.value if morsel else ""


def is_own_request(request: Request) -> bool:
    """Whether the browser says that a page of this very origin sends the request."""
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    # Browsers leave Fetch Metadata out on plain http beyond loopback, and all
    # of them send Origin with a POST.
    origin = request.headers.get("origin", "")
    return origin.lower() == f"http://{request.headers.get('host', '').lower()}"


async def read_body(request: Request, limits: Limits, most: int | None = None) -> bytes:
    """The body, refused as soon as it is longer than `most` bytes (a form's limit if None).

    Raises TooLargeError, and TimeoutError where it comes too slowly.
    """
    limit = most or limits.body
    too_large = f"the request is larger than {limit // 1_000_000} MB; shorten the text"
    declared = request.headers.get("content-length", "0")
    if declared.isdigit() and int(declared) > limit:
        raise TooLargeError(too_large)
    body = bytearray()
    with anyio.fail_after(limits.read_time):
        async for chunk in request.stream():
            body += chunk
            if len(body) > limit:
                raise TooLargeError(too_large)
    return bytes(body)


Refuse = Callable[[Request, int, str], Response]
"""Makes the page that says why a request was refused."""


class Guard:
    """ASGI middleware: lets a request in or not, and sets the headers of every answer."""

    def __init__(self, app: ASGIApp, *, door: Door, refuse: Refuse) -> None:
        self._app: Final = app
        self._door: Final = door
        self._refuse: Final = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            # There are no web sockets; the life cycle passes through.
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        started = False

        async def send_guarded(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                message = {**message, "headers": self._add_headers(message["headers"])}
            await send(message)

        request = Request(scope, receive)
        refusal = self._check(request)
        if refusal is not None:
            await refusal(scope, receive, send_guarded)
            return
        try:
            await self._app(scope, receive, send_guarded)
        except Exception as error:
            _report(error)
            if started:
                raise ConnectionError("the answer broke off") from None
            answer = self._refuse(request, 500, "That went wrong inside drillgen. Sorry.")
            await answer(scope, receive, send_guarded)

    def _check(self, request: Request) -> Response | None:
        if not self._door.knows_name(request.headers.get("host", "")):
            return self._refuse(
                request, 421, "This address is not drillgen’s. Use the one that was printed."
            )
        if request.method not in ("GET", "HEAD", "POST"):
            return self._refuse(request, 405, "This page only answers GET and POST.")
        is_entry = request.method == "GET" and request.url.path == "/" and self._door.token
        if not self._door.is_open_to(request) and not (
            is_entry and "token" in request.query_params
        ):
            return self._refuse(
                request, 403, "Open the whole address that drillgen printed, with its token."
            )
        if request.method == "POST" and not is_own_request(request):
            return self._refuse(
                request, 403, "This came from another site. Open drillgen’s own page."
            )
        return None

    def _add_headers(self, headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
        present = {name.lower() for name, _ in headers}
        # Under no-referrer a form sends "Origin: null"; beyond loopback, where
        # there is no Fetch Metadata, the origin is the only proof.
        policy = "same-origin" if self._door.host else "no-referrer"
        more = {**HEADERS, "Referrer-Policy": policy}
        return [
            *headers,
            *(
                (name.lower().encode(), value.encode())
                for name, value in more.items()
                if name.lower().encode() not in present
            ),
        ]


def _report(error: Exception) -> None:
    """One line on the terminal: what and where, without the message, which may
    hold the user's text."""
    print(f"drillgen: {describe_fault(error)}", file=sys.stderr)


def describe_fault(error: Exception) -> str:
    """The type and place of a fault of ours, without its message."""
    frame = traceback.extract_tb(error.__traceback__)[-1]
    place = frame.filename.replace("\\", "/").rpartition("/")[2]
    return f"{type(error).__name__} in {place}, line {frame.lineno}"
