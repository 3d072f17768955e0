"""Dumps in text back to bytes: an address, bytes in hexadecimal, perhaps the characters behind them."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.evidence.lines import lines_of

MOST_TEXT = 16 << 20
ADDRESS = re.compile(
    r"^\s{0,40}(?:[A-Za-z]{1,40}\s{1,40})?(?:[0-9A-Fa-f]{4}:)?(?:0[xX])?(?P<at>[0-9A-Fa-f]{2,8})(?P<end>:|\s|$)"
)
BYTE_GROUP = re.compile(r"(?:[0-9A-Fa-f]{2}){1,4}")
ROW = 16


@lru_cache(maxsize=8)
def decoded(data: bytes, *, least: int = 64) -> bytes | None:
    """The bytes of a dump in text, ``None`` when it is none, has gaps, or gives fewer than ``least`` bytes.

    A line ``*`` repeats the one before up to the next address. Lines that are no dump are passed over.
    """
    if len(data) > MOST_TEXT or b"\0" in data[:4096]:
        return None
    if not data.isascii():
        return None
    out = bytearray()
    start: int | None = None
    row = b""
    star = False
    for line in lines_of(data):
        if line.strip() == "*":
            star = True
            continue
        found = ADDRESS.match(line)
        if found is None:
            continue
        bytes_ = _bytes(line[found.end() :], found["end"])
        if not bytes_ and not star:
            continue
        start = int(found["at"], 16) if start is None else start
        at = int(found["at"], 16) - start
        if star and len(out) < at <= MOST_TEXT and row and (at - len(out)) % len(row) == 0:
            out += row * ((at - len(out)) // len(row))
        star = False
        if bytes_ and at != len(out):
            return None
        out += bytes_
        row = bytes_ or row
    return bytes(out) if len(out) >= least else None


def _bytes(rest: str, end: str) -> bytes:
    """Up to 16 bytes behind an address; the characters in the margin are cut off first."""
    rest = rest.split("|", 1)[0].strip(" ")
    if end == ":" or "-" in rest:
        rest = re.split(r"\s{2,}", rest, maxsplit=1)[0]
    out = bytearray()
    for token in re.split(r"[\s-]+", rest, maxsplit=ROW + 1):
        if len(out) >= ROW or BYTE_GROUP.fullmatch(token) is None:
            break
        out += bytes.fromhex(token)
    return bytes(out[:ROW])
