"""Firmware tables against biosdecode and dmidecode, field by field: built images, mutated ones, Debian's open ones.

Source: biosdecode and dmidecode 3.x (Debian package dmidecode), run here on the same bytes.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from evidence_files import firmware, megabyte, tool, written
from evidence_tools import explained, our_tables, reading, their_tables, values

IMAGES = (
    *sorted(Path("/usr/share/bochs").glob("BIOS*")),
    *sorted(Path("/usr/share/seabios").glob("bios*.bin")),
)


def test_the_open_images_are_there() -> None:
    # Debian packages bochsbios and seabios; .ci/run installs them
    assert len(IMAGES) == 6


@pytest.mark.reference
@pytest.mark.parametrize("image", IMAGES, ids=lambda p: p.name)
def test_open_images_hold_what_the_tool_finds(image: Path, tmp_path: Path) -> None:
    data = image.read_bytes()
    assert our_tables(data) == their_tables(tmp_path, data)


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(20))
def test_built_images_field_by_field(seed: int, tmp_path: Path) -> None:
    data = firmware(seed, kib=random.Random(seed).choice([64, 128]), smbios=("new", "old", "")[seed % 3])
    ours = our_tables(data)
    assert ours == their_tables(tmp_path, data)
    assert len(ours) >= 5


@pytest.mark.reference
def test_mutated_images_field_by_field(tmp_path: Path) -> None:
    """150 images with one to three bytes changed where tables stand: a table is valid here when it is there."""
    rng = random.Random(7)
    fewer = 0
    for n in range(150):
        data = bytearray(firmware(n % 5, smbios="new"))
        whole = our_tables(bytes(data))
        spots = [m.start() for m in re.finditer(rb"\$PnP|_32_|\$PIR|_SM_|_DMI_|_MP_|RSD PTR ", bytes(data))]
        for _ in range(rng.randint(1, 3)):
            data[rng.choice(spots) + rng.randrange(40)] = rng.randrange(256)
        ours = our_tables(bytes(data))
        fewer += len(ours) < len(whole)
        assert ours == their_tables(tmp_path, bytes(data)), f"image {n}"
    assert fewer > 75


@pytest.mark.reference
def test_with_sums_made_right_again_every_difference_is_explained(tmp_path: Path) -> None:
    """Fields changed and the sum repaired, so that only versions and lengths decide what is a table."""
    rng = random.Random(11)
    sums = ((b"$PnP", 8, 0x21), (b"_32_", 10, 16), (b"_MP_", 10, 16), (b"RSD PTR ", 8, 20))
    differences = 0
    for n in range(120):
        data = bytearray(firmware(n % 5, smbios="new"))
        for signature, place, length in sums:
            at = bytes(data).find(signature)
            data[at + rng.randrange(4 if len(signature) == 4 else 15, length)] = rng.randrange(256)
            data[at + place] = 0
            data[at + place] = -sum(data[at : at + length]) & 0xFF
        theirs, ours = their_tables(tmp_path, bytes(data)), our_tables(bytes(data))
        assert set(ours) <= set(theirs), f"image {n}"
        for kind, fields in set(theirs) - set(ours):
            differences += 1
            assert explained(kind, dict(fields)), (n, kind, fields)
    assert differences > 0


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(8))
def test_structures_as_dmidecode_prints_them(seed: int, tmp_path: Path) -> None:
    data = firmware(seed, smbios=("new", "old")[seed % 2])
    printed = tool("dmidecode", "-d", written(tmp_path, "image.1M", megabyte(data))).stdout
    ours = values(reading(data, "firmware").facts, "smbios.")
    assert re.search(r"Vendor: (.+)", printed)[1] == ours["firmware.vendor"]  # type: ignore[index]
    fields = {
        "firmware.version": r"^\tVersion: (.+)",
        "firmware.date": r"Release Date: (.+)",
        "firmware.rom_kb": r"ROM Size: (\d+) kB",
        "processor.socket": r"Socket Designation: (Socket .+)",
        "processor.bus_mhz": r"External Clock: (\d+) MHz",
        "processor.core_mhz": r"Current Speed: (\d+) MHz",
    }
    for key, pattern in fields.items():
        found = re.search(pattern, printed, re.MULTILINE)
        assert found, key
        assert found[1] == ours[key], key
    second = printed.split("Socket Designation: L2")[1]
    assert ("Enabled" in second.splitlines()[1]) == (ours["cache.l2"] == "on")
    assert re.search(r"Installed Size: (\d+) kB", second)[1] == ours["cache.l2_kb"]  # type: ignore[index]
    if ours["cache.l2"] == "on":
        mode = {"Write Back": "wb", "Write Through": "wt"}
        assert mode[re.search(r"Operational Mode: (.+)", second)[1]] == ours["cache.l2_policy"]  # type: ignore[index]


@pytest.mark.reference
def test_sums_of_the_open_images() -> None:
    # Source: the 8-bit sums of these Debian packages as counted with a second program: both 128 KiB images sum
    # to zero over the top 64 KiB only, the 64 KiB one over the file, SeaBIOS over neither
    def sums(path: str) -> dict[str, str]:
        return values(reading(Path(path).read_bytes(), "firmware").facts, "rom.sum.")

    assert sums("/usr/share/bochs/BIOS-bochs-legacy")["file"] == "00"
    for name in ("BIOS-bochs-latest", "BIOS-qemu-latest"):
        found = sums(f"/usr/share/bochs/{name}")
        assert found["file"] != "00"
        assert found["top_64k"] == "00"
    found = sums("/usr/share/seabios/bios-256k.bin")
    assert "00" not in (found["file"], found["top_64k"])


@pytest.mark.reference
def test_tables_that_are_filled_in_at_start_are_not_called_bad() -> None:
    # SeaBIOS keeps $PnP and _32_ without a right sum in its image and completes them during start
    facts = reading(Path("/usr/share/seabios/bios-256k.bin").read_bytes(), "firmware").facts
    seen = {f.key: f for f in facts if f.key in ("table.pnp", "table.services32")}
    assert len(seen) == 2
    assert all("filled in at start" in f.note and f.certainty.value == "unsure" for f in seen.values())


@pytest.mark.reference
@pytest.mark.parametrize(
    "path",
    [
        *sorted(Path("/usr/share/seabios").glob("vgabios-*.bin")),
        *sorted(Path("/usr/lib/ipxe/qemu").glob("*.rom")),
    ],
    ids=lambda p: p.name,
)
def test_option_roms_against_file_and_by_sum(path: Path) -> None:
    """Source: file(1) for length and PCI id; the loaders that start these ROMs demand a sum of zero."""
    data = path.read_bytes()
    said = tool("file", "-b", str(path)).stdout
    ours = values([f for f in reading(data).facts if f.about == "option rom 1"], "option.")
    assert ours["sum"] == "00"
    length = re.search(r"\((\d+)\*512\)", said)
    assert length
    assert int(length[1]) * 512 == data[2] * 512
    assert int(float(ours["length"])) >= data[2] * 512
    pci = re.search(r"PCI \S.*?device=0x([0-9a-f]+)", said)
    if pci:
        assert ours["pci_id"].split(":")[1] == f"{int(pci[1], 16):04x}"


@pytest.mark.reference
@pytest.mark.parametrize(("name", "expansion"), [("linuxboot.bin", "C4"), ("multiboot.bin", "A6")])
def test_option_roms_that_are_right_and_whose_expansion_header_is_not(name: str, expansion: str) -> None:
    # Source: Debian package qemu-system-data; sums counted with a second program
    facts = reading((Path("/usr/share/qemu") / name).read_bytes()).facts
    found = values(facts, "option.")
    assert (found["sum"], found["pnp_sum"]) == ("00", expansion)


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(4))
def test_a_table_by_itself_as_dmidecode_writes_it(seed: int, tmp_path: Path) -> None:
    whole = firmware(seed, smbios="new")
    file, table = written(tmp_path, "image.1M", megabyte(whole)), tmp_path / "table.bin"
    tool("dmidecode", "-d", file, "--dump-bin", str(table))
    alone = reading(table.read_bytes())
    printed = tool("dmidecode", "--from-dump", str(table)).stdout
    assert "structures occupying" in printed
    assert alone.kind == "firmware"
    assert values(alone.facts, "smbios.") == values(reading(whole, "firmware").facts, "smbios.")
