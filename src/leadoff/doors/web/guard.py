"""Who may ask, from where, and how much: checked before anything else sees a request."""

from __future__ import annotations

import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leadoff.doors.web.answers import refusal
from leadoff.doors.web.settings import LOOPBACK, WebSettings

COOKIE = "leadoff"
OWN_HEADER = "x-leadoff"
"""A header that no form of another site can send; programs without an Origin show it."""
MOST_BYTES = {
    "photo": 26_000_000,
    "read": 26_000_000,
    "repeat": 26_000_000,
    "sweep": 400_000,
    "claim": 700_000,
    "": 100_000,
}
OPEN_PATHS = ("/pair", "/static/")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=()",
}


class TooLargeError(Exception):
    """The body went past its limit while it was read."""


class Guard:
    """Host, token, origin and size."""

    def __init__(self, app: ASGIApp, settings: WebSettings) -> None:
        self.app = app
        self.settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = False

        async def sending(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        denied = self._denied(scope)
        if denied is not None:
            await refusal(scope, *denied)(scope, receive, sending)
            return
        limit = MOST_BYTES.get(scope["path"].removesuffix(".json").rsplit("/", 1)[-1], MOST_BYTES[""])
        try:
            await self.app(scope, _counted(receive, limit), sending)
        except TooLargeError:
            if started:
                raise
            await refusal(scope, *_large(limit))(scope, receive, sending)

    def _denied(self, scope: Scope) -> tuple[int, str, str, str] | None:
        headers = Headers(scope=scope)
        host = _name(headers.get("host", ""))
        if host not in self.settings.hosts:
            return 421, "host", f'this server is not "{host[:80]}"', "ask for it by the address it printed"
        path = scope["path"]
        if "\x00" in path or "�" in path:
            return 400, "path", "the address holds bytes that are no text", "follow a link of the page"
        if not self._known(scope, headers, host):
            return 401, "pair", "this device is not paired", "open /pair and type the code the server printed"
        if scope["method"] not in ("GET", "HEAD", "OPTIONS"):
            return self._foreign(headers) or _declared(scope, headers)
        return None

    def _known(self, scope: Scope, headers: Headers, host: str) -> bool:
        token = self.settings.token
        if token is None or scope["path"].startswith(OPEN_PATHS):
            return True
        if host in LOOPBACK and scope.get("client") and scope["client"][0] in LOOPBACK:
            return True
        held = headers.get("authorization", "").removeprefix("Bearer ").strip() or _cookie(headers)
        return secrets.compare_digest(held.encode(), token.encode())

    def _foreign(self, headers: Headers) -> tuple[int, str, str, str] | None:
        """A write must come from a page of this server, or from a program that says so."""
        origin = headers.get("origin") or headers.get("referer")
        if origin is None:
            if OWN_HEADER in headers and headers.get("sec-fetch-site", "same-origin") == "same-origin":
                return None
            return (
                403,
                "origin",
                "this write does not say where it comes from",
                "send the header X-Leadoff: 1",
            )
        if urlsplit(origin).netloc != headers.get("host"):
            return (
                403,
                "origin",
                f"a page of {origin[:120]} may not write here",
                "enter it on this server's page",
            )
        return None


def _large(limit: int) -> tuple[int, str, str, str]:
    return 413, "too_large", f"more than {limit} bytes were sent", "send less; nothing was kept"


def _declared(scope: Scope, headers: Headers) -> tuple[int, str, str, str] | None:
    limit = MOST_BYTES.get(scope["path"].removesuffix(".json").rsplit("/", 1)[-1], MOST_BYTES[""])
    length = headers.get("content-length", "0")
    if not length.isdigit():
        return 400, "length", "the length of the body is no number", "send it again"
    return _large(limit) if int(length) > limit else None


def _counted(receive: Receive, limit: int) -> Receive:
    taken = 0

    async def counting() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > limit:
            raise TooLargeError
        return message

    return counting


def _name(host: str) -> str:
    """The name without its port."""
    if host.startswith("["):
        return host[1:].partition("]")[0].lower()
    return host.rpartition(":")[0].lower() if ":" in host else host.lower()


def _cookie(headers: Headers) -> str:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""
