"""Starting the server. The command line asks for it by name, so that the two doors stay independent."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable
from typing import Any

import uvicorn

from leadoff.doors.web.app import make_app
from leadoff.doors.web.pairing import pair_address
from leadoff.doors.web.settings import PORT, WebSettings, for_lan
from leadoff.loop.desk import Desk
from leadoff.record.errors import LeadoffError


class BenchServer(uvicorn.Server):
    """Lets go of the open event streams before it waits for the last answers."""

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        app: Any = self.config.app
        app.state.pulse.close()
        await super().shutdown(sockets)


def serve(book: str | None, *, port: int = PORT, lan: bool = False, say: Callable[[str], None]) -> None:
    """Serve the bench page until it is stopped.

    Raises:
        LeadoffError: no book yet, or a port that somebody else holds.
    """
    desk = Desk(book=book)
    settings = for_lan(port) if lan else WebSettings(port=port)
    host = "0.0.0.0" if lan else "127.0.0.1"
    listener = _bound(host, port)
    config = uvicorn.Config(
        make_app(desk, settings),
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=1,
        server_header=False,
        limit_concurrency=400,
    )
    say(f"the bench page of {desk.book.name}: http://127.0.0.1:{port}/  (stop with Ctrl C)")
    if lan:
        say(
            f"open to the local network: {pair_address(settings)}\ncode {settings.code}; plain http: use it at home"
        )
        say(_qr(settings))
    with listener:
        BenchServer(config).run(sockets=[listener])


def _bound(host: str, port: int) -> socket.socket:
    # Named as TCP, or asyncio would not switch off Nagle's wait: 40 ms more for every answer, measured.
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":  # there it would let two servers share the port
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except OSError as error:
        made.close()
        raise LeadoffError.one(
            "port",
            f"port {port} of {host} cannot be had: {error.strerror}",
            where="--port",
            do=f"another server runs there, or choose --port {port + 1}",
        ) from None
    return made


def _qr(settings: WebSettings) -> str:
    import io

    import segno

    out = io.StringIO()
    segno.make(pair_address(settings), error="m").terminal(out, compact=True, border=4)
    return out.getvalue()
