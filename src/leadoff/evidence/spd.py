"""The serial data of a memory module: size, type, grades; FPM, EDO and SDRAM (JEDEC Standard 21-C, 4.1.2)."""

from __future__ import annotations

import msgspec

from leadoff.evidence.facts import Certainty, Hints, Rank, Reading, Source, Teller

TYPES = {1: "fpm", 2: "edo", 3: "pipelined nibble", 4: "sdram"}
LEVELS = {0: "5 V TTL", 1: "LVTTL", 2: "HSTL 1.5 V", 3: "SSTL 3.3 V", 4: "SSTL 2.5 V"}
CHECKS = {0: "none", 1: "parity", 2: "ecc"}
REFRESH_US = {0: 15.625, 1: 3.9, 2: 7.8, 3: 31.3, 4: 62.5, 5: 125.0}
CHECKED_BYTES = 63
SIZES = (64, 128, 256)
SDRAM = 4
LARGEST_MB = 4096


class Module(msgspec.Struct, frozen=True, kw_only=True):
    """A module as its serial data has it; times in nanoseconds, ``None`` where a byte says nothing.

    ``latencies``: CAS latencies the device takes; ``cycles_ns``: clock period at the highest latency and the
    next two below it. For FPM and EDO ``rac_ns`` and ``cac_ns`` are the access times.
    """

    type: str
    size_mb: float | None
    rows: int
    columns: int
    sides: int
    banks: int
    width: int
    level: str
    check: str
    refresh_us: float | None
    self_refresh: bool
    latencies: tuple[int, ...] = ()
    cycles_ns: tuple[float | None, ...] = ()
    rp_ns: int | None = None
    rrd_ns: int | None = None
    rcd_ns: int | None = None
    ras_ns: int | None = None
    rac_ns: int | None = None
    cac_ns: int | None = None


def checksum(data: bytes) -> int:
    """The sum of bytes 0 to 62, modulo 256, which byte 63 should hold."""
    return sum(data[:CHECKED_BYTES]) & 0xFF


def decode(d: bytes) -> Module:
    """Decode at least 64 bytes. Values that cannot be are ``None`` and never guessed."""
    kind = TYPES.get(d[2], f"type {d[2]:02X}h")
    refresh = REFRESH_US.get(d[12] & 0x7F)
    base = Module(
        type=kind,
        size_mb=module_mb(d),
        rows=d[3] & 15,
        columns=d[4] & 15,
        sides=d[5],
        banks=d[17] if d[2] == SDRAM else 1,
        width=d[6] | d[7] << 8,
        level=LEVELS.get(d[8], f"{d[8]:02X}h"),
        check=CHECKS.get(d[11], f"{d[11]:02X}h"),
        refresh_us=refresh,
        self_refresh=bool(d[12] & 0x80),
    )
    if d[2] != SDRAM:
        return msgspec.structs.replace(base, rac_ns=d[9] or None, cac_ns=d[10] or None)
    return msgspec.structs.replace(
        base,
        latencies=tuple(n + 1 for n in range(7) if d[18] >> n & 1),
        cycles_ns=(_cycle(d[9]), _cycle(d[23]), _late(d[25])),
        rp_ns=d[27] or None,
        rrd_ns=d[28] or None,
        rcd_ns=d[29] or None,
        ras_ns=d[30] or None,
    )


def _cycle(byte: int) -> float | None:
    """High digit nanoseconds, low digit tenths; for the second latency 1 to 3 stand for 16 to 18."""
    whole, tenth = byte >> 4, byte & 15
    if not byte or tenth > 9:
        return None
    return (whole + 15 if 1 <= whole <= 3 else whole) + tenth / 10


def _late(byte: int) -> float | None:
    """The third latency: six bits of nanoseconds, two of quarters."""
    return byte / 4 if byte else None


def module_mb(d: bytes) -> float | None:
    """Megabytes of the module, ``None`` when its numbers cannot be.

    Data bits only: 72 is 64 and check bits. Two different sides have the second one's bits in the high digits.
    """
    width = d[6] | d[7] << 8
    bits = width & ~7 if width < 64 else 64 * (width // 64)
    sides = d[5]
    if not d[3] & 15 or not d[4] & 15 or not 1 <= sides <= 8 or not 8 <= width <= 144:
        return None
    banks = d[17] if d[2] == SDRAM else 1
    if not 1 <= banks <= 16:
        return None
    first = 2 ** ((d[3] & 15) + (d[4] & 15))
    other = 2 ** ((d[3] >> 4 or d[3] & 15) + (d[4] >> 4 or d[4] & 15))
    cells = first + other * (sides - 1)
    mb = cells * banks * bits / 8 / 2**20
    return mb if 0 < mb <= LARGEST_MB else None


def sniff(source: Source) -> float:
    """Sure when type, size and sum agree; a module with a wrong sum is still one when its numbers make sense."""
    d = source.data
    if len(d) not in SIZES or d[2] not in TYPES or not 0x04 <= d[1] <= 0x0D:
        return 0.0
    if not 0x20 <= d[0] <= 0x80 or module_mb(d) is None:
        return 0.0
    return 0.97 if d[63] == checksum(d) else 0.7


def read(source: Source, hints: Hints) -> Reading:
    """Read 64 bytes or more. A sum that does not agree is said, and the fields are then unsure."""
    d = source.data[:256].ljust(128, b"\0")
    stored, made = d[63], checksum(d)
    good = stored == made
    tell = Teller(source, Rank.IDENTITY)
    how = Certainty.CHECKED if good else Certainty.UNSURE
    note = "" if good else f"stored {stored:02X}h, bytes 0 to 62 sum to {made:02X}h"

    def say(
        key: str, value: float | str | None, unit: str = "", *, offset: int, note: str = "", bears: str = ""
    ) -> None:
        if value is None or value == "":
            return
        set_to = str(value) if bears and good else ""
        tell(
            f"spd.{key}", value, unit, offset=offset, about="memory module", certainty=how, note=note,
            setting=bears if set_to else "", canonical=set_to,
        )  # fmt: skip

    m = decode(d)
    say("checksum", "agrees" if good else "differs", offset=63, note=note)
    say("type", m.type, offset=2, bears="ram_type" if m.type in ("fpm", "edo", "sdram") else "")
    say("size_mb", m.size_mb, "MB", offset=3)
    for key, number, offset in (
        ("rows", m.rows, 3), ("columns", m.columns, 4), ("sides", m.sides, 5), ("width", m.width, 6),
        ("banks", m.banks, 17),
    ):  # fmt: skip
        say(key, number, offset=offset)
    say("level", m.level, offset=8)
    say("check", m.check, offset=11)
    say("refresh_us", m.refresh_us, "us", offset=12, note="self-refresh" if m.self_refresh else "")
    if m.latencies:
        say("latencies", " ".join(map(str, m.latencies)), "clocks", offset=18)
    for key, cycle, offset in zip(
        ("cycle_ns", "cycle_1_ns", "cycle_2_ns"), m.cycles_ns, (9, 23, 25), strict=False
    ):
        say(key, cycle, "ns", offset=offset)
    for key, time, offset in (
        ("rp_ns", m.rp_ns, 27), ("rrd_ns", m.rrd_ns, 28), ("rcd_ns", m.rcd_ns, 29), ("ras_ns", m.ras_ns, 30),
        ("rac_ns", m.rac_ns, 9), ("cac_ns", m.cac_ns, 10),
    ):  # fmt: skip
        say(key, time, "ns", offset=offset)
    if len(source.data) >= 128:
        _made(say, d)
    return tell.reading(
        "spd",
        "serial data of a memory module",
        _lines(m),
        () if good else (f"{source.name}: the sum differs ({note}): none of it is taken as sure",),
    )


def _made(say: object, d: bytes) -> None:
    """Maker's number, part number, date and serial, as they stand."""
    assert callable(say)
    maker = d[64:72].rstrip(b"\0")
    if maker and maker.strip(b"\xff"):
        say("maker", maker.hex(" "), offset=64, note="JEP106 number")
    part = d[73:91].split(b"\0")[0].split(b"\xff")[0].decode("latin-1").strip()
    if part.isprintable():
        say("part", part, offset=73)
    if any(d[93:95]) and d[93:95] != b"\xff\xff":
        say(
            "made", f"{d[93]:02X} {d[94]:02X}", offset=93, note="year and week, on some modules week and year"
        )
    if d[126] in (0x64, 0x66):
        say("intended_mhz", 100 if d[126] == 0x64 else 66, "MHz", offset=126)


def _lines(m: Module) -> list[str]:
    size = f"{m.size_mb:g} MB" if m.size_mb is not None else "size cannot be told"
    out = [
        f"{m.type}, {size}: {m.rows} rows x {m.columns} columns x {m.banks} banks x {m.sides} sides, {m.width} bits"
    ]
    if m.rac_ns is not None:
        out.append(f"access {m.rac_ns} ns from the row, {m.cac_ns or '?'} ns from the column")
    elif m.latencies:
        pairs = zip(reversed(m.latencies), m.cycles_ns, strict=False)
        grades = ", ".join(f"{cl} at {ns:g} ns" for cl, ns in pairs if ns)
        out.append(
            f"CAS latency {grades or m.latencies}; precharge {m.rp_ns}, row to column {m.rcd_ns}, row {m.ras_ns} ns"
        )
    return out
