"""Who may talk to the server: the page that it served itself, and nobody else.

Enters: requests. Leaves: those of the own page; every other is refused with 403 before it reaches anything. Holds:
another site's page can neither read what is shown nor choose anything, even where its name leads to this machine.
"""

import secrets
from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

TOKEN_HEADER = "x-layercut-token"
"""What the page sends along when it changes something; another site can't read the token or send the header."""

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cache-control": "no-store",
}
"""Sent with every answer: only what this server serves may load or run, and nobody may frame the page."""


class Guard:
    """Lets through what comes from the page at one of `hosts` (`127.0.0.1:8000`); POST needs the token as well."""

    def __init__(self, app: ASGIApp, hosts: Iterable[str], token: str) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # there are no web sockets here; the server closes them

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        reason = self._refuses(scope["method"], Headers(scope=scope))
        app = PlainTextResponse(f"refused: {reason}\n", status_code=403) if reason else self._app
        await app(scope, receive, send_with_headers)

    def _refuses(self, method: str, headers: Headers) -> str:
        """Why a request is refused; empty for one of the own page."""
        hosts, origins = headers.getlist("host"), headers.getlist("origin")
        # A name of another site that leads to this machine still stands in the Host header.
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return "this server answers to its own address only."
        if any(origin.lower() != f"http://{hosts[0].lower()}" for origin in origins):
            return "the request comes from another page."
        if headers.get("sec-fetch-site", "none") not in {"same-origin", "none"}:
            return "the request comes from another page."
        if method not in {"GET", "HEAD"} and not self._knows_token(headers):
            return "the request doesn't know the page's token."
        return ""

    def _knows_token(self, headers: Headers) -> bool:
        return secrets.compare_digest(headers.get(TOKEN_HEADER, "").encode(), self._token.encode())
