"""Clock RAM of 64, 128 or 256 bytes: whether it was kept, what the set-up had stored, what the clock says."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.evidence.facts import Certainty, Hints, Rank, Reading, Source, Teller

SIZES = (64, 128, 256)
SHORT = (50, 114, 242)
"""RAM without the 14 clock registers: parts give 50, 114 or 242 bytes (source: 146818-class data sheets)."""

FIRST, LAST, HIGH, LOW = 0x10, 0x2D, 0x2E, 0x2F
"""Range and place of the AT checksum: 16-bit sum of 10h to 2Dh, high byte at 2Eh (source: Linux
drivers/char/nvram.c and coreboot nvramtool agree)."""

DIAGNOSTIC = (
    (7, "the clock lost power"),
    (6, "the checksum was wrong"),
    (5, "the equipment byte was wrong"),
    (4, "memory size differed"),
    (3, "the first fixed disk or its controller failed"),
    (2, "the time was invalid"),
)
"""Byte 0Eh (source: IBM AT Technical Reference, CMOS RAM data)."""

FLOPPY = {0: "none", 1: "360 KB", 2: "1.2 MB", 3: "720 KB", 4: "1.44 MB", 5: "2.88 MB"}
DISPLAY = {0: "card with its own ROM", 1: "40 columns", 2: "80 columns colour", 3: "monochrome"}
DIV_32K = 0b010
TYPE_47 = 47
VALID_RAM = (
    "register D bit 7: on 146818-class parts reading it sets it, so only the first reading after power-up tells; "
    "others sample the cell once at power-up; on sealed modules 0 means an exhausted cell"
)
"""Source: 146818A-class (from memory), bq3285-class and 12887-class data sheets."""

START_YEARS = (80, 0)


class Clock(msgspec.Struct, frozen=True, kw_only=True):
    """What registers 00h to 0Dh say. ``date`` is empty when it cannot be one."""

    date: str
    time: str
    running: bool
    updating: bool
    valid_ram: bool
    year: int | None


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """The AT checksum: stored, computed, and whether it means anything."""

    stored: int
    made: int

    @property
    def agrees(self) -> bool:
        return self.stored == self.made

    @property
    def complement(self) -> bool:
        """Stored as the one's complement, as some firmware does for a range of its own."""
        return self.stored == (~self.made & 0xFFFF)


def checksum(d: bytes) -> Check:
    """The AT checksum of a dump with clock registers."""
    return Check(stored=d[HIGH] << 8 | d[LOW], made=sum(d[FIRST : LAST + 1]) & 0xFFFF)


def clock(d: bytes) -> Clock:
    """The clock registers as they stand."""
    binary, full = bool(d[0x0B] & 4), bool(d[0x0B] & 2)

    def number(at: int, mask: int = 0xFF) -> int | None:
        v = d[at] & mask
        if binary:
            return v
        return (v >> 4) * 10 + (v & 15) if v >> 4 < 10 and v & 15 < 10 else None

    second, minute = number(0), number(2)
    hour = number(4) if full else number(4, 0x7F)
    if hour is not None and not full:
        hour = hour % 12 + (12 if d[4] & 0x80 else 0)
    day, month, year = number(7), number(8), number(9)
    fits = (
        day is not None
        and month is not None
        and year is not None
        and 1 <= day <= 31
        and 1 <= month <= 12
        and year <= 99
    )
    ticks = (
        second is not None
        and minute is not None
        and hour is not None
        and second < 60
        and minute < 60
        and hour < 24
    )
    return Clock(
        date=f"{year:02d}-{month:02d}-{day:02d}" if fits else "",
        time=f"{hour:02d}:{minute:02d}:{second:02d}" if ticks else "",
        running=(d[0x0A] >> 4 & 7) == DIV_32K and not d[0x0B] & 0x80,
        updating=bool(d[0x0A] & 0x80),
        valid_ram=bool(d[0x0D] & 0x80),
        year=year if fits else None,
    )


def sniff(source: Source) -> float:
    """By the divider of register A, the low bits of register D, a date, and the checksum."""
    d = source.data
    if len(d) not in SIZES:
        return 0.0
    if len(set(d)) == 1:
        return 0.6 if d[0] in (0, 0xFF) else 0.0
    points = 0.2
    points += 0.25 if (d[0x0A] >> 4 & 7) == DIV_32K and 3 <= d[0x0A] & 15 <= 15 else 0.0
    points += 0.15 if d[0x0D] & 0x7F == 0 else -0.2
    points += 0.2 if clock(d).date and clock(d).time else -0.1
    points += 0.15 if checksum(d).agrees and checksum(d).made else 0.0
    return max(0.0, min(0.95, points))


def read(source: Source, hints: Hints) -> Reading:
    """Read a dump; with ``--kind cmos`` also one without the clock registers (50, 114 or 242 bytes)."""
    tell = Teller(source, Rank.SETUP)
    d = source.data[:256]
    if len(d) in SHORT:
        d = bytes(10) + b"\x26\x02\x00\x80" + d
    d = d.ljust(64, b"\0")
    lines, warnings = tell_all(tell, d, source.name)
    return tell.reading("cmos", f"clock RAM, {len(source.data)} bytes", lines, warnings)


def tell_all(tell: Teller, d: bytes, name: str) -> tuple[list[str], list[str]]:
    """Facts of a dump of at least 64 bytes; lines and warnings for people."""
    lines: list[str] = []
    warnings: list[str] = []
    if len(set(d)) == 1:
        what = (
            "all zero: the checksum agrees with that and proves nothing" if d[0] == 0 else f"all {d[0]:02X}h"
        )
        tell("cmos.kept", "no", about="clock ram", certainty=Certainty.CHECKED, note=what)
        return lines, [f"{name}: {what}: the RAM was lost or cleared, or the reader saw nothing"]
    now, check = clock(d), checksum(d)
    lines.append(_clock_facts(tell, d, now, warnings, name))
    constant = len(set(d[FIRST : LAST + 1])) == 1
    _check_facts(tell, check, constant)
    _alias(tell, d, warnings, name)
    diagnostic = _diagnostic(tell, d)
    kept, why = _kept(now, check, constant, diagnostic)
    tell("cmos.kept", kept, about="clock ram", note="; ".join(why))
    lines.insert(0, f"set-up kept: {kept} ({'; '.join(why)})")
    if kept == "no":
        warnings.append(f"{name}: the set-up in this RAM was lost: what it says is not what was set")
    lines += _stored(tell, d, believed=kept != "no")
    return lines, warnings


def _clock_facts(tell: Teller, d: bytes, now: Clock, warnings: list[str], name: str) -> str:
    about = "clock"
    tell(
        "clock.valid_ram", "yes" if now.valid_ram else "no", offset=0x0D, about=about, note="register D bit 7"
    )
    tell(
        "clock.running", "yes" if now.running else "no", offset=0x0A, about=about, note="divider and SET bit"
    )
    if now.date:
        tell("clock.date", now.date, offset=7, about=about, note="year-month-day, two digits")
    if now.time and not now.updating:
        tell("clock.time", now.time, offset=0, about=about)
    if not now.running:
        warnings.append(f"{name}: the clock stands (register A {d[0x0A]:02X}h, B {d[0x0B]:02X}h)")
    if now.updating:
        warnings.append(
            f"{name}: read during an update (register A bit 7): the time may mix two seconds; read again"
        )
    century = d[0x32]
    if century in (0x19, 0x20):
        tell("clock.century", f"{century:02X}", offset=0x32, about=about)
    said = f"{now.date or 'no date'} {now.time or 'no time'}".strip()
    return f"clock {said}, {'running' if now.running else 'standing'}, valid-RAM flag {int(now.valid_ram)}"


def _check_facts(tell: Teller, check: Check, constant: bool) -> None:
    sure = Certainty.UNSURE if constant else Certainty.CHECKED
    word = "agrees" if check.agrees else "complement" if check.complement else "differs"
    tell(
        "cmos.checksum",
        word,
        offset=HIGH,
        about="clock ram",
        certainty=sure if check.agrees else Certainty.PLAIN,
        note=f"stored {check.stored:04X}h, 10h to 2Dh sum to {check.made:04X}h",
    )


def _alias(tell: Teller, d: bytes, warnings: list[str], name: str) -> None:
    """A part with 64 bytes answers twice: 40h to 7Fh repeat what is below, but for the clock that ticks."""
    if len(d) < 128 or d[0x0E:0x40] != d[0x4E:0x80] or len(set(d[0x0E:0x40])) < 4:
        return
    tell("cmos.bytes", 64, "bytes", about="clock ram", note="40h to 7Fh repeat 00h to 3Fh")
    warnings.append(f"{name}: the upper half repeats the lower: the part has 64 bytes")


def _diagnostic(tell: Teller, d: bytes) -> list[str]:
    told = [text for bit, text in DIAGNOSTIC if d[0x0E] >> bit & 1]
    tell("cmos.diagnostic", f"{d[0x0E]:02X}", offset=0x0E, about="clock ram", note="; ".join(told))
    tell("cmos.shutdown", f"{d[0x0F]:02X}", offset=0x0F, about="clock ram")
    return told


def _kept(now: Clock, check: Check, constant: bool, diagnostic: Sequence[str]) -> tuple[str, list[str]]:
    """``yes``, ``no`` or ``doubtful`` with the reasons: a right sum alone is never enough."""
    against: list[str] = []
    if not now.valid_ram:
        against.append("the valid-RAM flag is 0")
    if not (check.agrees or check.complement):
        against.append(f"checksum {check.stored:04X}h, bytes sum to {check.made:04X}h")
    if constant:
        against.append("the stored bytes are all the same")
    if not now.date:
        against.append("no date")
    elif not now.running:
        against.append("the clock stands")
    elif now.year in START_YEARS and now.date[3:] == "01-01":
        against.append(f"the clock began again on {now.date}")
    against += [f"firmware noted: {t}" for t in diagnostic if t in (DIAGNOSTIC[0][1], DIAGNOSTIC[1][1])]
    if not against:
        return "yes", ["valid-RAM flag, checksum and date fit"]
    lost = not now.valid_ram or constant or not now.date or len(against) > 1
    return ("no" if lost else "doubtful"), against


def _stored(tell: Teller, d: bytes, *, believed: bool) -> list[str]:
    about = "clock ram"
    a, b = d[0x10] >> 4, d[0x10] & 15
    for letter, kind, at in (("a", a, 0x10), ("b", b, 0x10)):
        tell(f"cmos.floppy_{letter}", FLOPPY.get(kind, f"type {kind}"), offset=at, about=about)
    disks = []
    for letter, nibble, more, geometry in (("c", d[0x12] >> 4, 0x19, 0x1B), ("d", d[0x12] & 15, 0x1A, 0x24)):
        kind = d[more] if nibble == 15 else nibble
        tell(f"cmos.disk_{letter}_type", kind, offset=0x12 if nibble != 15 else more, about=about)
        if kind == TYPE_47:
            shape = _geometry(d, geometry)
            tell(f"cmos.disk_{letter}", shape, offset=geometry, about=about, certainty=Certainty.UNSURE)
            disks.append(f"{letter.upper()}: {shape}")
        elif kind:
            disks.append(f"{letter.upper()}: type {kind}")
    equipment = d[0x14]
    tell("cmos.equipment", f"{equipment:02X}", offset=0x14, about=about)
    tell("cmos.display", DISPLAY[equipment >> 4 & 3], offset=0x14, about=about)
    tell("cmos.fpu", "yes" if equipment & 2 else "no", offset=0x14, about=about)
    memory = _memory(tell, d, believed=believed)
    floppies = f"floppies {FLOPPY.get(a, a)} / {FLOPPY.get(b, b)}"
    return [memory, f"{floppies}; disks {', '.join(disks) or 'none'}; {DISPLAY[equipment >> 4 & 3]}"]


def _geometry(d: bytes, at: int) -> str:
    cylinders = d[at] | d[at + 1] << 8
    return f"{cylinders}/{d[at + 2]}/{d[at + 8]}"


def _memory(tell: Teller, d: bytes, *, believed: bool) -> str:
    base, stored, found = (d[at] | d[at + 1] << 8 for at in (0x15, 0x17, 0x30))
    tell("cmos.base_kb", base, "KB", offset=0x15, about="clock ram")
    tell("cmos.extended_kb", stored, "KB", offset=0x17, about="clock ram", note="as stored by the set-up")
    tell("cmos.extended_found_kb", found, "KB", offset=0x30, about="clock ram", note="as found at start")
    if believed and base in (512, 639, 640) and 0 < found < 0xFC00 and (found + 1024) % 512 in (0, 128):
        mb = (found + 1024) / 1024
        tell(
            "cmos.ram_mb",
            mb,
            "MB",
            offset=0x30,
            rank=Rank.FIRMWARE,
            setting="ram_mb",
            canonical=f"{mb:g}",
            note="what the firmware counted at its last start",
        )
    differ = f", {stored} KB stored: they differ" if stored != found else ""
    return f"memory {base} KB + {found} KB found{differ}"
