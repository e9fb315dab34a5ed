"""Which requests does the page answer at all?

The server listens on this computer only, but any web page that the user visits can
send requests here, and a name on the internet can be made to point here. So every
request must name this very address as its host, carry the random word of this run in
its path, and, when it changes something, come from our own page. Bodies are limited.

References:
    [Fetch] WHATWG Fetch, "Origin header": a browser names the origin on every request other than
    GET and HEAD. [CSP3] W3C Content Security Policy level 3.
"""

from __future__ import annotations

import hmac
from collections.abc import Iterable

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BODY = 1_000_000
"""Bytes of one request."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    # not "no-referrer": with that a browser may send "Origin: null" with our own requests
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), usb=(), payment=()"),
)


class Guard:
    """Stands before the application and turns away what does not come from our own page.

    Args:
        app: The application behind it.
        token: Random word that begins every path.
        hosts: Host headers that are answered, such as ``127.0.0.1:8123``.
    """

    def __init__(self, app: ASGIApp, *, token: str, hosts: Iterable[str]) -> None:
        self.app = app
        self.token = token.encode()
        self.hosts = frozenset(host.lower() for host in hosts)
        self.origins = frozenset(f"http://{host}" for host in self.hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or turn it away."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = {name.lower(): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await refusal(scope, receive, self._sealed(send))
            return
        await self.app(scope, _counted(receive), self._sealed(send))

    def _refusal(self, scope: Scope, headers: dict[bytes, str]) -> PlainTextResponse | None:
        hosts = [value for name, value in scope["headers"] if name.lower() == b"host"]
        if len(hosts) != 1 or headers.get(b"host", "").lower() not in self.hosts:
            return PlainTextResponse("this address is not served here\n", 421)
        if not self._has_token(str(scope["path"])):
            return PlainTextResponse("use the whole address that enclosure serve printed\n", 403)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return PlainTextResponse("only GET and POST are answered\n", 405)
        origin = headers.get(b"origin")
        if (scope["method"] == "POST" or origin is not None) and (origin or "").lower() not in self.origins:
            return PlainTextResponse("only the page's own requests are answered\n", 403)
        if headers.get(b"sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return PlainTextResponse("only the page's own requests are answered\n", 403)
        said = headers.get(b"content-length", "0")
        if not said.isdecimal() or int(said) > MOST_BODY:
            return PlainTextResponse(f"more than {MOST_BODY // 1000} kB is not taken\n", 413)
        return None

    def _has_token(self, path: str) -> bool:
        first = path.split("/", 2)[1] if path.startswith("/") else ""
        return hmac.compare_digest(first.encode("utf-8", "replace"), self.token)

    def _sealed(self, send: Send) -> Send:
        async def sealed(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [
                    *message["headers"],
                    *((name, value) for name, value in HEADERS if name not in own),
                    *(() if b"cache-control" in own else ((b"cache-control", b"no-store"),)),
                ]
            await send(message)

        return sealed


class TooMuchError(Exception):
    """The body of a request runs over the limit although its length was not told."""


def _counted(receive: Receive) -> Receive:
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BODY:
            raise TooMuchError
        return message

    return counted
