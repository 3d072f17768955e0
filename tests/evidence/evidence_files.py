"""Files as the bench makes them, built from values: firmware, clock RAM, serial data, configuration dumps."""

from __future__ import annotations

import random
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

TOP = 0x100000


def filled(block: bytes, at: int) -> bytes:
    """The block with the byte at ``at`` set so that all of it sums to zero."""
    out = bytearray(block)
    out[at] = 0
    out[at] = -sum(out) & 0xFF
    return bytes(out)


def pnp_block(rng: random.Random) -> bytes:
    d = bytearray(0x21)
    d[0:4] = b"$PnP"
    d[4], d[5], d[6] = 0x10, 0x21, rng.choice([0, 1, 2])
    for k in range(9, 0x21):
        d[k] = rng.randrange(256)
    return filled(bytes(d), 8)


def services_block(rng: random.Random) -> bytes:
    d = bytearray(16)
    d[0:4] = b"_32_"
    d[4:8] = (0xF0000 + rng.randrange(0x10000)).to_bytes(4, "little")
    d[9] = 1
    return filled(bytes(d), 10)


def routing_block(rng: random.Random, slots: int) -> bytes:
    d = bytearray(32 + 16 * slots)
    d[0:4] = b"$PIR"
    d[5] = 1
    d[6:8] = len(d).to_bytes(2, "little")
    d[9] = rng.randrange(32) << 3
    d[10:12] = rng.randrange(0x10000).to_bytes(2, "little")
    d[12:16] = rng.randbytes(4)
    for n in range(slots):
        at = 32 + 16 * n
        d[at + 1] = rng.randrange(32) << 3
        for pin in range(4):
            d[at + 2 + 3 * pin] = 0x60 + pin
            d[at + 3 + 3 * pin : at + 5 + 3 * pin] = rng.randrange(0x10000).to_bytes(2, "little")
        d[at + 14] = n + 1
    return filled(bytes(d), 31)


def string_set(texts: Sequence[str]) -> bytes:
    return b"".join(t.encode() + b"\0" for t in texts) + (b"\0" if texts else b"\0\0")


def smbios_table(core_mhz: int, bus_mhz: int, l2_kb: int, l2_on: bool, l2_wb: bool) -> tuple[bytes, int]:
    """Firmware, processor, two caches and an end: the bytes and how many structures."""
    firmware = bytearray(0x12)
    firmware[0:4] = bytes([0, 0x12, 0, 0])
    firmware[4:6], firmware[8], firmware[9] = b"\x01\x02", 3, 1
    cpu = bytearray(0x1A)
    cpu[0:4] = bytes([4, 0x1A, 4, 0])
    cpu[4], cpu[5], cpu[6], cpu[7], cpu[0x10] = 1, 3, 0x0B, 2, 3
    cpu[0x12:0x14] = bus_mhz.to_bytes(2, "little")
    cpu[0x14:0x16] = (200).to_bytes(2, "little")
    cpu[0x16:0x18] = core_mhz.to_bytes(2, "little")
    cpu[0x18] = 0x41
    caches = []
    for level, kb, on, wb in ((1, 16, True, True), (2, l2_kb, l2_on, l2_wb)):
        c = bytearray(0x0F)
        c[0:4] = bytes([7, 0x0F, 6 + level, 0])
        c[4] = 1
        c[5:7] = ((level - 1) | 0x80 * on | (1 if wb else 0) << 8).to_bytes(2, "little")
        c[7:9] = c[9:11] = kb.to_bytes(2, "little")
        caches.append(bytes(c) + string_set([f"L{level}"]))
    out = bytes(firmware) + string_set(["Invented Firmware House", "0.9 demo", "07/15/97"])
    out += bytes(cpu) + string_set(["Socket 7", "Invented Maker", "demo part"])
    out += b"".join(caches) + bytes([127, 4, 99, 0]) + b"\0\0"
    return out, 5


def smbios_entry(table_at: int, length: int, count: int, *, old: bool) -> bytes:
    inner = bytearray(15)
    inner[0:5] = b"_DMI_"
    inner[6:8] = length.to_bytes(2, "little")
    inner[8:12] = table_at.to_bytes(4, "little")
    inner[12:14] = count.to_bytes(2, "little")
    inner[14] = 0x20 if old else 0x23
    inner = bytearray(filled(bytes(inner), 5))
    if old:
        return bytes(inner)
    head = bytearray(16)
    head[0:4] = b"_SM_"
    head[5], head[6], head[7] = 0x1F, 2, 3
    head[8:10] = (80).to_bytes(2, "little")
    return filled(bytes(head) + bytes(inner), 4)


def mp_block(rng: random.Random) -> bytes:
    d = bytearray(16)
    d[0:4] = b"_MP_"
    d[4:8] = (0xF0000 + rng.randrange(0xF000)).to_bytes(4, "little")
    d[8], d[9] = 1, rng.choice([1, 4])
    d[12] = rng.choice([0, 0x80])
    return filled(bytes(d), 10)


def acpi_block(rng: random.Random) -> bytes:
    d = bytearray(20)
    d[0:8] = b"RSD PTR "
    d[9:15] = b"DEMO  "
    d[16:20] = rng.randrange(1 << 27).to_bytes(4, "little")
    return filled(bytes(d), 8)


def code_bytes(rng: random.Random, count: int) -> bytes:
    """Bytes like code: some values often, none missing, no signature."""
    common = bytes([0x8B, 0x89, 0xE8, 0xC3, 0x50, 0x58, 0x00, 0xFF])
    return bytes(rng.choice(common) if rng.random() < 0.4 else rng.randrange(256) for _ in range(count))


@cache
def firmware(seed: int, *, kib: int = 64, smbios: str = "new") -> bytes:
    """A whole image with every table at its own paragraph, a sum of zero over all of it."""
    rng = random.Random(seed)
    d = bytearray(code_bytes(rng, 16384) * (kib // 16))
    for k in range(kib // 16):  # no two blocks alike
        d[k * 16384 : k * 16384 + 4] = bytes([k, 255 - k, k ^ 0x5A, 7])
    base = TOP - len(d)
    blocks = [
        pnp_block(rng),
        services_block(rng),
        routing_block(rng, rng.randint(1, 6)),
        mp_block(rng),
        acpi_block(rng),
    ]
    places = rng.sample(range(0xF1000, 0xF7000, 0x400), len(blocks))
    for block, at in zip(blocks, places, strict=True):
        d[at - base : at - base + len(block)] = block
    if smbios:
        clocks = rng.choice([100, 133, 166, 200]), rng.choice([50, 60, 66])
        table, count = smbios_table(*clocks, rng.choice([256, 512]), rng.random() < 0.8, rng.random() < 0.5)
        entry = smbios_entry(0xF8000, len(table), count, old=smbios == "old")
        d[0xF7800 - base : 0xF7800 - base + len(entry)] = entry
        d[0xF8000 - base : 0xF8000 - base + len(table)] = table
    d[-16:-11] = bytes([0xEA, 0x5B, 0xE0, 0x00, 0xF0])
    d[-11:-3] = f"{rng.randint(1, 12):02d}/{rng.randint(1, 28):02d}/{rng.randint(90, 99):02d}".encode()
    d[-3], d[-2] = 0, 0xFC
    return filled(bytes(d), len(d) - 1)


def megabyte(image: bytes) -> bytes:
    """An image at its addresses, as the reference tools want it."""
    return bytes(TOP - len(image[-TOP:])) + image[-TOP:]


def clock_ram(
    size: int = 128,
    *,
    valid: bool = True,
    good_sum: bool = True,
    extended_kb: int = 7168,
    stored_kb: int | None = None,
    date: tuple[int, int, int] = (97, 6, 14),
    running: bool = True,
    floppies: int = 0x40,
    disk: int = 0xF0,
    diagnostic: int = 0,
    seed: int = 1,
) -> bytes:
    """A dump of clock RAM, BCD clock, type 47 on the first disk where ``disk`` says F."""
    rng = random.Random(seed)
    d = bytearray(rng.randrange(256) for _ in range(size))
    bcd = lambda v: v // 10 << 4 | v % 10  # noqa: E731
    year, month, day = date
    d[0:10] = bytes([bcd(rng.randrange(60)), 0, bcd(rng.randrange(60)), 0, bcd(rng.randrange(24)), 0, 2,
                     bcd(day), bcd(month), bcd(year)])  # fmt: skip
    d[0x0A], d[0x0B], d[0x0C], d[0x0D] = 0x26 if running else 0x66, 0x02, 0, 0x80 if valid else 0
    d[0x0E], d[0x0F], d[0x10], d[0x11], d[0x12] = diagnostic, 0, floppies, 0, disk
    d[0x13], d[0x14], d[0x15:0x17] = 0, 0x03, (640).to_bytes(2, "little")
    stored = extended_kb if stored_kb is None else stored_kb
    d[0x17:0x19] = stored.to_bytes(2, "little")
    d[0x19], d[0x1A] = (47 if disk >> 4 == 15 else 0), 0
    d[0x1B:0x24] = bytes([0xDB, 0x02, 16, 0xFF, 0xFF, 0xC8, 0xDB, 0x02, 63])
    total = sum(d[0x10:0x2E]) + (0 if good_sum else 0x101)
    d[0x2E], d[0x2F] = total >> 8 & 0xFF, total & 0xFF
    d[0x30:0x32] = extended_kb.to_bytes(2, "little")
    d[0x32] = 0x19
    return bytes(d)


def serial_data(
    kind: int = 4, *, rows: int = 12, columns: int = 9, sides: int = 1, banks: int = 4, width: int = 64,
    cycle: int = 0xA0, latencies: int = 0x06, seed: int = 1,
) -> bytes:  # fmt: skip
    """Serial data of a module with a right sum."""
    rng = random.Random(seed)
    d = bytearray(256)
    d[0:9] = bytes([0x80, 8, kind, rows, columns, sides, width & 255, width >> 8, 1])
    d[9], d[10] = (cycle, 0x60) if kind == 4 else (60, 15)
    d[11], d[12] = (2 if width % 9 == 0 else 0), 0x80
    if kind == 4:
        d[13], d[15:22] = 8, bytes([1, 0x8F, banks, latencies, 1, 1, 0])
        d[22:31] = bytes(
            [0x0E, 0xA0, 0x60, 0, 0, rng.choice([15, 20]), 20, rng.choice([15, 20]), rng.choice([45, 50])]
        )
        d[31] = max(1, 2 ** (rows + columns) * banks * 8 // 2**20 // 4) & 255
    d[62] = 0x12
    d[63] = sum(d[:63]) & 0xFF
    d[64] = 0x7F
    d[73:91] = b"DEMO-MODULE-64    "
    d[93:95] = b"\x98\x23"
    d[126], d[127] = 0x64, 0xAF
    return bytes(d)


def pci_header(
    vendor: int, device: int, kind: int, *, command: int = 7, header: int = 0, seed: int = 1
) -> bytes:
    """64 bytes of configuration; ``kind`` is base, sub class and interface."""
    rng = random.Random(seed)
    d = bytearray(64)
    d[0:2], d[2:4] = vendor.to_bytes(2, "little"), device.to_bytes(2, "little")
    d[4:6], d[6:8] = command.to_bytes(2, "little"), (0x0280).to_bytes(2, "little")
    d[8], d[9:12], d[0x0D], d[0x0E] = (
        rng.randrange(8),
        kind.to_bytes(3, "little"),
        rng.choice([0, 32, 64]),
        header,
    )
    if header == 0:
        d[0x2C:0x30] = rng.choice([bytes(4), bytes([0x34, 0x12, 0x01, 0x00])])
        d[0x3C], d[0x3D] = 11, rng.choice([0, 1, 2])
    else:
        d[0x18:0x1C] = bytes([0, 1, 1, 32])
    return bytes(d)


def pci_text(functions: Mapping[str, bytes]) -> bytes:
    """The form that ``lspci -F`` takes."""
    out = []
    for slot, data in functions.items():
        out.append(f"{slot} dump")
        out += [f"{k:02x}: {data[k : k + 16].hex(' ')}" for k in range(0, len(data), 16)]
        out.append("")
    return ("\n".join(out) + "\n").encode()


def tool(name: str, *args: str) -> subprocess.CompletedProcess[str]:
    """Run a reference tool of the system; not having it is a failure, because CI installs it."""
    found = shutil.which(name) or shutil.which(name, path="/usr/sbin:/sbin")
    assert found, f"{name} is not installed: .ci/run installs it"
    return subprocess.run([found, *args], capture_output=True, encoding="latin-1", timeout=60, check=False)


def written(folder: Path, name: str, data: bytes) -> str:
    path = folder / name
    path.write_bytes(data)
    return str(path)
