"""Dumps that went wrong are recognised, each by its own cause, and a good image raises nothing."""

from __future__ import annotations

import random

import pytest
from evidence_files import filled, firmware
from evidence_tools import reading, values

from leadoff.evidence.facts import Source
from leadoff.evidence.firmware.dumps import dump_faults
from leadoff.evidence.firmware.pairs import half_of, interleave, joined

GOOD = firmware(1)


def codes(data: bytes) -> set[str]:
    return {f.code for f in dump_faults(data)}


@pytest.mark.parametrize("seed", range(8))
def test_a_good_image_raises_nothing(seed: int) -> None:
    assert codes(firmware(seed, kib=128)) == set()
    read = reading(firmware(seed, kib=128))
    assert read.kind == "firmware"
    assert read.warnings == ()


@pytest.mark.parametrize("value", [0, 0xFF, 0x5A])
def test_blank(value: int) -> None:
    assert codes(bytes([value]) * 65536) == {"blank"}


@pytest.mark.parametrize("bit", range(8))
@pytest.mark.parametrize("level", [0, 1])
def test_a_data_line_that_does_not_move(bit: int, level: int) -> None:
    held = bytes((b | 1 << bit) if level else (b & ~(1 << bit)) for b in GOOD)
    found = dump_faults(held)
    assert [f.code for f in found] == ["data_line"]
    assert f"D{bit} " in found[0].text
    assert f"is {level} in" in found[0].text


def test_two_data_lines_that_touch() -> None:
    both = bytes(b & ~0x0A | (0x0A if b & 0x02 and b & 0x08 else 0) for b in GOOD)
    found = dump_faults(both)
    assert [f.code for f in found] == ["data_short"]
    assert "D1 and D3" in found[0].text


@pytest.mark.parametrize("line", [0, 3, 9, 14])
def test_an_address_line_that_does_not_move(line: int) -> None:
    data = bytes(GOOD[k & ~(1 << line)] for k in range(len(GOOD)))
    found = {f.code: f.text for f in dump_faults(data)}
    assert set(found) == {"address_line"}
    assert f"A{line} " in found["address_line"]


def test_a_repeated_half_and_a_small_chip_read_large() -> None:
    assert codes(GOOD[-32768:] * 2) == {"repeated"}
    assert "8 times" in dump_faults(GOOD[-8192:] * 8)[0].text


@pytest.mark.parametrize("cut", [1, 100, 4000])
def test_a_size_that_no_chip_has(cut: int) -> None:
    found = dump_faults(GOOD[:-cut])
    assert [f.code for f in found] == ["size"]
    assert f"{cut} short of 64 KiB" in found[0].text


def test_copied_as_text() -> None:
    assert "text_mode" in codes(GOOD.replace(b"\r", b"").replace(b"\n", b"\r\n"))


def test_one_chip_of_a_pair_not_read() -> None:
    data = bytearray(GOOD)
    data[0::2] = b"\xff" * (len(GOOD) // 2)
    assert "one_of_pair" in codes(bytes(data))


@pytest.mark.parametrize("seed", range(6))
def test_a_split_pair_is_put_together_in_either_order(seed: int) -> None:
    image = firmware(seed)
    even, odd = Source.of("a.bin", image[0::2]), Source.of("b.bin", image[1::2])
    assert (half_of(even.data), half_of(odd.data)) == ("even", "odd")
    for order in ([even, odd], [odd, even]):
        made = joined(order)
        assert [m.data for m in made] == [image]
        assert made[0].parts == ("a.bin", "b.bin")


def test_a_pair_without_a_date_is_found_by_its_jump() -> None:
    image = bytearray(firmware(2))
    image[-11:-3] = random.Random(3).randbytes(8)
    data = filled(bytes(image), len(image) - 1)
    made = joined([Source.of("u2", data[1::2]), Source.of("u1", data[0::2])])
    assert [m.data for m in made] == [data]
    assert interleave(data[0::2], data[1::2]) == data


def test_two_whole_images_are_no_pair_and_half_a_pair_says_so() -> None:
    assert len(joined([Source.of("a", firmware(1)), Source.of("b", firmware(2))])) == 2
    half = reading(GOOD[0::2])
    assert values(half.facts)["rom.half"] == "even"
    assert "give the odd one" in half.warnings[-1]


def test_sums_are_told_and_never_called_a_fault() -> None:
    odd = bytearray(GOOD)
    odd[-1] ^= 0x55
    read = reading(bytes(odd))
    assert values(read.facts)["rom.sum.file"] != "00"
    assert read.warnings == ()
    assert any("proves nothing" in line for line in read.lines)


def test_a_signature_in_code_is_no_table() -> None:
    data = bytearray(firmware(4, smbios=""))
    data[0x3003:0x3007] = b"$PnP"  # not at a paragraph
    data[0x5000:0x5004] = b"$PIR"  # at a paragraph, with a length that cannot be
    found = [f for f in reading(bytes(data)).facts if f.key in ("table.pnp", "table.pci_routing")]
    assert all(f.certainty.value == "checked" for f in found)
    assert len(found) == 2
