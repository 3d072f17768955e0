"""Starting the server. The command line asks for it by name, so that the two doors stay independent."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable

from leadoff.doors.web.settings import PORT, WebSettings, for_lan
from leadoff.record.errors import LeadoffError


def serve(book: str | None, *, port: int = PORT, lan: bool = False, say: Callable[[str], None]) -> None:
    """Serve the bench page until it is stopped.

    The port is open before anything else is loaded: a page that asks meanwhile waits half a second and is not
    turned away.

    Raises:
        LeadoffError: no book yet, or a port that somebody else holds.
    """
    with _bound("0.0.0.0" if lan else "127.0.0.1", port) as listener:
        listener.listen(2048)
        from leadoff.doors.web.server import server
        from leadoff.loop.desk import Desk

        desk = Desk(book=book)
        settings = for_lan(port) if lan else WebSettings(port=port)
        say(f"the bench page of {desk.book.name}: http://127.0.0.1:{port}/  (stop with Ctrl C)")
        if lan:
            _tell_code(settings, say)
        server(desk, settings).run(sockets=[listener])


def _tell_code(settings: WebSettings, say: Callable[[str], None]) -> None:
    from leadoff.doors.web.pairing import pair_address

    code = settings.code
    say(f"open to the local network: {pair_address(settings)}\ncode {code}; plain http: use it at home")
    say(_qr(pair_address(settings)))


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


def _qr(address: str) -> str:
    import io

    import segno

    out = io.StringIO()
    segno.make(address, error="m").terminal(out, compact=True, border=4)
    return out.getvalue()
