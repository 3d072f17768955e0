"""A firmware image as the processor sees it: its last byte is FFFFFh, the last one below one megabyte."""

from __future__ import annotations

import re

import msgspec

TOP = 0x100000
MEMORY_DUMP = TOP
"""An image of exactly one megabyte may be a dump of memory as well: then low memory is in it too."""

DATE = re.compile(rb"(0[1-9]|1[0-2])[/-](0[1-9]|[12]\d|3[01])[/-]\d\d")
MODELS = {
    0xFC: "AT class",
    0xFF: "first PC",
    0xFE: "XT class",
    0xFB: "XT class, later",
    0xFD: "small PC of 1983",
    0xFA: "small micro-channel class",
    0xF8: "386 micro-channel class",
}
"""Model byte at F000:FFFE (source: IBM AT Technical Reference for FC; the others from memory)."""


class Image(msgspec.Struct, frozen=True, kw_only=True):
    """Bytes that end at FFFFFh, or with ``from_zero`` begin at address 0."""

    data: bytes
    from_zero: bool = False

    @property
    def base(self) -> int:
        """Address of the first byte; negative where more is in the chip than fits below one megabyte."""
        return 0 if self.from_zero else TOP - len(self.data)

    def offset(self, address: int) -> int | None:
        """Where an address is in the file, ``None`` outside it."""
        at = address - self.base
        return at if 0 <= at < len(self.data) else None

    def at(self, address: int, count: int) -> bytes | None:
        """Bytes from an address on, ``None`` unless all of them are in the file."""
        at = self.offset(address)
        if at is None or at + count > len(self.data):
            return None
        return self.data[at : at + count]

    def paragraphs(self, low: int, high: int, signature: bytes) -> list[int]:
        """Addresses at 16-byte steps in ``low`` to ``high`` (not in it) where the signature stands."""
        out: list[int] = []
        start = max(0, low - self.base)
        end = min(len(self.data), high - self.base)
        at = self.data.find(signature, start, end)
        while at >= 0:
            if (at + self.base) % 16 == 0:
                out.append(at + self.base)
            at = self.data.find(signature, at + 1, end)
        return out


def place(address: int) -> str:
    """An address in the upper segments as people write it: ``F000:FFF5``."""
    if 0xF0000 <= address < TOP:
        return f"F000:{address & 0xFFFF:04X}"
    return f"{address:05X}h"


def byte_sum(data: bytes) -> int:
    """The 8-bit sum."""
    return sum(data) & 0xFF


def far_jump(data: bytes) -> tuple[int, int] | None:
    """Segment and offset of the far jump at the reset vector of these bytes."""
    if len(data) < 16 or data[-16] != 0xEA:
        return None
    return int.from_bytes(data[-13:-11], "little"), int.from_bytes(data[-15:-13], "little")


def date(data: bytes) -> str | None:
    """The date at F000:FFF5 where one stands there."""
    found = DATE.fullmatch(data[-11:-3])
    return found[0].decode() if found else None
