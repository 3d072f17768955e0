"""What a server was started with."""

from __future__ import annotations

import contextlib
import secrets
import socket

import msgspec

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
CODE_SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Signs of a pairing code: none that looks like another."""
PORT = 8486


class WebSettings(msgspec.Struct, frozen=True, kw_only=True):
    """``hosts``: names under which the page may be asked for. ``token``: what a device must hold; ``None`` on
    loopback, where no log-in stands between a person and the bench.
    """

    hosts: frozenset[str] = LOOPBACK
    token: str | None = None
    code: str = ""
    port: int = PORT

    @property
    def lan(self) -> bool:
        return self.token is not None


def for_lan(port: int = PORT) -> WebSettings:
    """Open to the local network: a code to pair with, a token that a paired device keeps."""
    names = {socket.gethostname().lower(), f"{socket.gethostname().lower()}.local"}
    return WebSettings(
        hosts=LOOPBACK | names | frozenset(addresses()),
        token=secrets.token_urlsafe(32),
        code="".join(secrets.choice(CODE_SIGNS) for _ in range(8)),
        port=port,
    )


def addresses() -> tuple[str, ...]:
    """This machine's own addresses on the local network, the one used for outside first. Sends nothing."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect(("192.0.2.1", 9))  # a documentation address: a datagram socket only picks its route
        found.append(probe.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [str(i[4][0]) for i in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(a for a in found if not a.startswith("127.")))
