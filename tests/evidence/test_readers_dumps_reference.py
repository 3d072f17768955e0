"""Serial data, clock RAM and PCI configuration against the tools that read the same files.

Sources: decode-dimms 4.3 (i2c-tools), nvramtool 4.15 (coreboot-utils), lspci -F 3.9 (pciutils), run here.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from evidence_files import clock_ram, pci_header, pci_text, serial_data, tool, written
from evidence_tools import reading, values

LAYOUT = """entries
112 8 h 0 diag
128 4 h 0 fdb
132 4 h 0 fda
160 8 h 0 equip
168 16 h 0 basekb
184 16 h 0 extkb
384 16 h 0 ext2kb
400 8 h 0 century
enumerations
1 0 Off
checksums
checksum 128 367 368
"""
PARTS = (0x1237, 0x7010, 0x7110, 0x7192, 0x122D, 0x0484, 0x04A3, 0x1250)
KINDS = (0x060000, 0x060100, 0x010180, 0x030000, 0x020000, 0x0C0300)


def hexdump(data: bytes) -> bytes:
    """The form of ``hexdump -C``."""
    rows = [f"{k:08x}  {data[k : k + 16].hex(' ')}  |{'.' * 16}|" for k in range(0, len(data), 16)]
    return ("\n".join(rows) + f"\n{len(data):08x}\n").encode()


def decoded_module(folder: Path, data: bytes) -> dict[str, str]:
    """What decode-dimms prints, label to value."""
    printed = tool("decode-dimms", "-c", "-x", written(folder, "spd.hex", hexdump(data))).stdout
    rows = [re.split(r"\s{2,}", x.strip(), maxsplit=1) for x in printed.splitlines()]
    return {r[0]: r[1] for r in rows if len(r) == 2}


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(25))
def test_modules_field_by_field(seed: int, tmp_path: Path) -> None:
    rng = random.Random(seed)
    data = serial_data(
        rows=rng.choice([11, 12, 13]),
        columns=rng.choice([8, 9, 10]),
        sides=rng.choice([1, 2]),
        banks=rng.choice([2, 4]),
        width=rng.choice([64, 72]),
        cycle=rng.choice([0x75, 0x80, 0xA0]),
        latencies=rng.choice([0x04, 0x06]),
        seed=seed,
    )
    if rng.random() < 0.3:
        data = data[:63] + bytes([data[63] ^ 1 << rng.randrange(8)]) + data[64:]
    theirs = decoded_module(tmp_path, data)
    ours = values(reading(data).facts, "spd.")
    label = next(k for k in theirs if k.startswith("EEPROM Checksum"))
    assert theirs[label].startswith("OK" if ours["checksum"] == "agrees" else "Bad")
    assert theirs["Fundamental Memory type"] == "SDR SDRAM"
    assert ours["type"] == "sdram"
    assert theirs["Size"] == f"{ours['size_mb']} MB"
    fastest = max(int(c) for c in ours["latencies"].split())
    cycle = float(ours["cycle_ns"])
    clocks = [str(-(-int(float(ours[k]) * 100) // int(cycle * 100))) for k in ("rcd_ns", "rp_ns", "ras_ns")]
    assert theirs["tCL-tRCD-tRP-tRAS"] == "-".join([str(fastest), *clocks])
    assert theirs["Part Number"] == ours["part"]
    assert theirs["SPD Revision"] == "1.2"


@pytest.mark.reference
@pytest.mark.parametrize("kind", [1, 2])
def test_older_modules_are_told_apart(kind: int, tmp_path: Path) -> None:
    # decode-dimms gives only type and checksum of these
    data = serial_data(kind, rows=11, columns=11, sides=2, banks=1)
    theirs = decoded_module(tmp_path, data)
    ours = values(reading(data).facts, "spd.")
    assert {"fpm": "FPM DRAM", "edo": "EDO"}[ours["type"]].split()[0] in theirs["Fundamental Memory type"]
    assert float(ours["size_mb"]) == 2 ** (11 + 11) * 8 * 2 / 2**20
    assert (ours["rac_ns"], ours["cac_ns"]) == ("60", "15")


# Bytes 0 to 35, byte 62, byte 63 as printed (36 to 61 are 00h); what the table says in words: MB, type of check, CAS
# latencies, cycle at the highest one in ns, precharge, row to column, row active in ns. All read in the data sheets.
PUBLISHED = {
    # Source: TS8MLS64V8C2 data sheet, "Serial Presence Detect Specification" (64 MB, PC100, CL2)
    "64 MB PC100": (
        "8008040C0901400001A06000801000018F04060101000EA0600000141414321020102010", 0x12, 0x0D,
        (64, "none", "2 3", 10.0, 20, 20, 50),
    ),
    # Source: TS32MLS64V8D data sheet, the same table (256 MB, two sides, PC100, CL3)
    "256 MB PC100": (
        "8008040C0A02400001A06000800800018F04060101000EC0700000141414322020102010", 0x12, 0x47,
        (256, "none", "2 3", 10.0, 20, 20, 50),
    ),
    # Source: TS16MLS72V8D data sheet, the same table (128 MB with check bits, PC100)
    "128 MB ECC": (
        "8008040C0A01480001A06002800808018F04060101000EC0700000141414322020102010", 0x12, 0x58,
        (128, "ecc", "2 3", 10.0, 20, 20, 50),
    ),
    # Source: TS32MLS64V6F data sheet, the same table (256 MB, PC133, CL3)
    "256 MB PC133": (
        "8008040D0A01400001755400820800018F04060101000EA0600000140F142D4015081508", 0x02, 0xC2,
        (256, "none", "2 3", 7.5, 20, 20, 45),
    ),
}  # fmt: skip
# Source: JM334S643A-75 data sheet, the same table (256 MB, PC133, CL3): it prints C0h, its bytes 0 to 62 sum to 89h
WRONG = "8008040D0A01400001755400820800018F04040101000E75540000140F142D4015081508", 0x02, 0xC0


def published(bytes_: str, revision: int, stored: int) -> bytes:
    return bytes.fromhex(bytes_) + bytes(26) + bytes([revision, stored]) + bytes(64)


@pytest.mark.reference
@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_tables_as_makers_print_them(name: str) -> None:
    *table, said = PUBLISHED[name]
    ours = values(reading(published(*table)).facts, "spd.")
    assert ours["checksum"] == "agrees"
    keys = ("size_mb", "check", "latencies", "cycle_ns", "rp_ns", "rcd_ns", "ras_ns")
    assert tuple(ours[k] for k in keys) == tuple(f"{v:g}" if isinstance(v, float | int) else v for v in said)


@pytest.mark.reference
def test_a_published_table_that_is_wrong(tmp_path: Path) -> None:
    """The sum that is printed is not that of the bytes: that is said, and nothing of it is taken as sure."""
    data = published(*WRONG)
    read = reading(data)
    found = next(f for f in read.facts if f.key == "spd.checksum")
    assert (found.value, found.note) == ("differs", "stored C0h, bytes 0 to 62 sum to 89h")
    assert all(f.certainty.value == "unsure" and not f.setting for f in read.facts)
    assert "none of it is taken as sure" in read.warnings[0]
    theirs = decoded_module(tmp_path, data)
    assert theirs[next(k for k in theirs if k.startswith("EEPROM Checksum"))].startswith("Bad")


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(25))
def test_clock_ram_field_by_field(seed: int, tmp_path: Path) -> None:
    rng = random.Random(seed)
    data = clock_ram(
        rng.choice([128, 256]),
        good_sum=rng.random() < 0.6,
        extended_kb=rng.choice([3072, 7168, 15360, 31744, 65535]),
        stored_kb=rng.choice([None, 3072]),
        floppies=rng.choice([0x00, 0x24, 0x40, 0x44]),
        diagnostic=rng.choice([0, 0x40, 0xC0, 0x10]),
        seed=seed,
    )
    layout, dump = written(tmp_path, "at.layout", LAYOUT.encode()), written(tmp_path, "cmos.bin", data)
    printed = tool("nvramtool", "-y", layout, "-D", dump, "-a")
    theirs = dict(re.findall(r"^(\w+) = 0x([0-9a-f]+)$", printed.stdout, re.MULTILINE))
    facts = reading(data, "cmos").facts
    ours = values(facts)
    assert ("checksum is bad" in (printed.stdout + printed.stderr)) == (ours["cmos.checksum"] == "differs")
    note = next(f.note for f in facts if f.key == "cmos.checksum")
    stored = tool("nvramtool", "-y", layout, "-D", dump, "-c").stdout.strip()
    assert int(re.search(r"stored (\w+)h", note)[1], 16) == int(stored, 16)  # type: ignore[index]
    if ours["cmos.checksum"] == "differs":
        made = re.search(r"Computed checksum: 0x([0-9a-f]+)", printed.stdout + printed.stderr)
        assert made
        assert int(re.search(r"sum to (\w+)h", note)[1], 16) == int(made[1], 16)  # type: ignore[index]
    assert int(theirs["diag"], 16) == int(ours["cmos.diagnostic"], 16)
    assert int(theirs["equip"], 16) == int(ours["cmos.equipment"], 16)
    kinds = {0: "none", 2: "1.2 MB", 4: "1.44 MB"}
    assert kinds[int(theirs["fda"], 16)] == ours["cmos.floppy_a"]
    assert kinds[int(theirs["fdb"], 16)] == ours["cmos.floppy_b"]
    assert int(theirs["basekb"], 16) == float(ours["cmos.base_kb"])
    assert int(theirs["extkb"], 16) == float(ours["cmos.extended_kb"])
    assert int(theirs["ext2kb"], 16) == float(ours["cmos.extended_found_kb"])
    assert theirs["century"] == ours["clock.century"].lower()


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(12))
def test_configuration_dumps_field_by_field(seed: int, tmp_path: Path) -> None:
    rng = random.Random(seed)
    functions = {
        f"00:{n:02x}.{n % 3 and 1}": pci_header(
            rng.choice([0x8086, 0x1039, 0x1106, 0x10B9, 0x1234]),
            rng.choice(PARTS),
            rng.choice(KINDS),
            command=rng.choice([0, 1, 3, 7, 0x107]),
            header=1 if n == 3 else 0,
            seed=seed * 10 + n,
        )
        for n in range(6)
    }
    text = pci_text(functions)
    file = written(tmp_path, "pci.dump", text)
    blocks = [
        dict(line.split(":\t", 1) for line in block.splitlines() if ":\t" in line)
        for block in tool("lspci", "-F", file, "-vmmnn").stdout.split("\n\n")
        if block.strip()
    ]
    facts = reading(text).facts
    ours = {slot: [f for f in facts if f.about == slot] for slot in functions}
    assert [b["Slot"] for b in blocks] == list(functions)
    verbose = tool("lspci", "-F", file, "-vv", "-n").stdout.split("\n\n")
    for block, bits in zip(blocks, [v for v in verbose if v.strip()], strict=True):
        mine = {f.key.removeprefix("pci."): f for f in ours[block["Slot"]]}
        vendor, device = (re.search(r"\[([0-9a-f]{4})\]$", block[k]) for k in ("Vendor", "Device"))
        assert vendor
        assert device
        assert mine["id"].value == f"{vendor[1]}:{device[1]}"
        assert (mine["id"].note or "Vendor") == block["Vendor"].removesuffix(f" [{vendor[1]}]")
        named = block["Device"].removesuffix(f" [{device[1]}]")
        assert named == "Device" if "name" not in mine else mine["name"].value == named
        assert block["Class"] == f"{mine['class'].note} [{mine['class'].value}]"
        assert block.get("Rev", "00") == mine["revision"].value
        assert block.get("ProgIf", "00") == mine["interface"].value
        control = re.search(r"Control: (.+)", bits)
        assert control
        words = str(mine["command"].note).split()
        for word, label in (("I/O", "I/O"), ("memory", "Mem"), ("master", "BusMaster"), ("errors", "SERR")):
            assert (f"{label}+" in control[1]) == (word in words), (control[1], words)
        latency = re.search(r"Latency: (\d+)", bits)
        assert not latency or int(latency[1]) == mine["latency"].value
        pin = re.search(r"Interrupt: pin ([A-D]) routed to IRQ (\d+)", bits)
        if pin:  # a line without a pin ("pin ?") means nothing and is left out here
            assert mine["interrupt"].value == f"{pin[1]} line {pin[2]}"
        if "SVendor" in block:
            short = [re.search(r"\[([0-9a-f]{4})\]$", block[k]) for k in ("SVendor", "SDevice")]
            assert all(short)
            assert mine["subsystem"].value == ":".join(s[1] for s in short if s)
