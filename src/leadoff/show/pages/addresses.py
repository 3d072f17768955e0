"""A board's name in an address and back. A name may hold a slash or be two dots, which an address may not."""

from __future__ import annotations

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]*(?<!\.json)")
SIGN = "~"
"""Begins a name that was written in base64 because it would not stand in an address as it is."""


def board_address(name: str) -> str:
    """The name as one piece of a path."""
    if _PLAIN.fullmatch(name):
        return name
    return SIGN + urlsafe_b64encode(name.encode("utf-8", "surrogatepass")).decode().rstrip("=")


def board_name(piece: str) -> str:
    """The name of a piece of a path; what is no name comes back as it is and will not be found."""
    if not piece.startswith(SIGN):
        return piece
    code = piece[1:]
    try:
        return urlsafe_b64decode(code + "=" * (-len(code) % 4)).decode()
    except ValueError:
        return piece
