"""A device of the local network is let in by a code; a code cannot be tried at will."""

from __future__ import annotations

import io
import secrets
import time

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from leadoff.doors.web.answers import refusal
from leadoff.doors.web.guard import COOKIE
from leadoff.doors.web.settings import LOOPBACK, WebSettings, addresses
from leadoff.record.results import Result
from leadoff.show.pages.render import page

TRIES, IN_S = 10, 60.0
KEPT_S = 365 * 24 * 3600


class Attempts:
    """Wrong codes of the last minute, from anywhere: 32**8 codes at ten a minute outlast the server."""

    def __init__(self) -> None:
        self._at: list[float] = []

    def spent(self) -> bool:
        now = time.monotonic()
        self._at = [t for t in self._at if now - t < IN_S]
        return len(self._at) >= TRIES

    def wrong(self) -> None:
        self._at.append(time.monotonic())


async def pair(request: Request) -> Response:
    """A form for the code; the code itself, in the address of the QR or in the form, lets a device in.

    Asking with a code sets a cookie and writes nothing to the book.
    """
    settings: WebSettings = request.app.state.settings
    attempts: Attempts = request.app.state.attempts
    if settings.token is None:
        return RedirectResponse("/", 303)
    code = request.query_params.get("code", "")
    if request.method == "POST":
        async with request.form(max_fields=5, max_files=0) as form:
            code = str(form.get("code", ""))
    if not code:
        return _form(request, settings)
    if attempts.spent():
        return refusal(request.scope, 429, "tries", "too many wrong codes in a minute", "wait a minute")
    if not secrets.compare_digest(code.strip().upper().encode(), settings.code.encode()):
        attempts.wrong()
        return refusal(request.scope, 401, "code", "that is not the code", "type the one the server printed")
    made = RedirectResponse("/", 303)
    made.set_cookie(COOKIE, settings.token, max_age=KEPT_S, httponly=True, samesite="lax")
    return made


async def code_picture(request: Request) -> Response:
    """The QR, for the machine itself only."""
    settings: WebSettings = request.app.state.settings
    if settings.token is None or not _own(request):
        return refusal(request.scope, 404, "not_found", "there is no code to show here", "")
    import segno  # asked for once, so not loaded at the start

    out = io.BytesIO()
    segno.make(pair_address(settings), error="m").save(out, kind="svg", border=4, scale=6, light="#fff")
    return Response(out.getvalue(), media_type="image/svg+xml")


def pair_address(settings: WebSettings) -> str:
    """Where a phone goes; the code travels in it once and is not the token."""
    host = next(iter(addresses()), "127.0.0.1")
    return f"http://{host}:{settings.port}/pair?code={settings.code}"


def _own(request: Request) -> bool:
    return request.client is not None and request.client.host in LOOPBACK


def _form(request: Request, settings: WebSettings) -> Response:
    own = _own(request)
    result = Result(verb="pair", data={"code": settings.code if own else ""})
    return HTMLResponse(page("pair", result))
