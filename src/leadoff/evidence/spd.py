"""The serial data of a memory module: size, type, grades; FPM, EDO and SDRAM."""

from __future__ import annotations

from leadoff.evidence.facts import Certainty, Hints, Rank, Reading, Source, Teller

TYPES = {1: "fpm", 2: "edo", 3: "pipelined nibble", 4: "sdram"}
"""Byte 2 (JEDEC Standard 21-C, section 4.1.2 annexes)."""

CHECKED_BYTES = 63
SIZES = (128, 256)


def checksum(data: bytes) -> int:
    """The sum of bytes 0 to 62, modulo 256, which byte 63 should hold."""
    return sum(data[:CHECKED_BYTES]) & 0xFF


def sniff(source: Source) -> float:
    """Sure when type, size and sum agree; a module with a wrong sum is still one when its numbers make sense."""
    d = source.data
    if len(d) not in SIZES or d[2] not in TYPES or not 0x04 <= d[1] <= 0x0D:
        return 0.0
    sensible = 0x40 <= d[0] <= 0x80 and 0 < (d[3] & 0xF) <= 15 and 0 < (d[4] & 0xF) <= 15 and 1 <= d[5] <= 8
    if not sensible:
        return 0.0
    return 0.97 if d[63] == checksum(d) else 0.6


def read(source: Source, hints: Hints) -> Reading:
    """Read 64 bytes or more of serial data.

    The size follows rows, columns, banks and width; for FPM and EDO there are no banks inside the device. A sum
    that does not agree is said, and the fields are then plain instead of checked.
    """
    d = source.data[:256].ljust(128, b"\0")
    stored, made = d[63], checksum(d)
    good = stored == made
    how = Certainty.CHECKED if good else Certainty.UNSURE
    tell = Teller(source, Rank.IDENTITY)
    about = "memory module"
    kind = TYPES.get(d[2], "")

    def say(key: str, value: float | str, unit: str = "", *, offset: int, note: str = "") -> None:
        tell(f"spd.{key}", value, unit, offset=offset, about=about, certainty=how, note=note)

    note = "" if good else f"stored {stored:02X}h, bytes 0 to 62 sum to {made:02X}h"
    say("checksum", "agrees" if good else "differs", offset=63, note=note)
    say("type", kind or f"{d[2]:02X}h", offset=2)
    size_mb = module_mb(d)
    if size_mb is not None:
        say("size_mb", size_mb, "MB", offset=3)
    return Reading(
        kind="spd",
        title="serial data of a memory module",
        file=source.name,
        digest=source.digest,
        facts=tuple(tell.facts),
        data=source.data,
        lines=(f"{kind or 'unknown type'} module, {size_mb or '?'} MB",),
        warnings=() if good else (f"{source.name}: the sum differs ({note})",),
    )


def module_mb(d: bytes) -> float | None:
    """Megabytes of the module, ``None`` when its numbers cannot be."""
    rows, columns, sides = d[3], d[4], d[5]
    width = d[6] | d[7] << 8
    if not rows or not columns or not sides or not width:
        return None
    banks = d[17] if d[2] == 4 else 1
    per_side = 2.0 ** ((rows & 15) + (columns & 15)) * max(banks, 1) * (width & ~7 or width) / 8
    return per_side * sides / 2**20
