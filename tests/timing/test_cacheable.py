"""Cacheable range and chip counts: every row of the fact sheet's tables 3c and 3d."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.record.errors import LeadoffError
from leadoff.timing import Cacheable, cacheable, layout, layouts_for, tag_entries


def mb(**given: object) -> float | None:
    return cacheable(**given).mb.value  # type: ignore[arg-type]


@pytest.mark.reference
def test_386_example() -> None:
    # Source: Intel386 DX Hardware Reference Manual 231732, figure 7-3, p. 7-5 (read): 64 KB, 8-bit tag, 16
    # MB.
    assert mb(size_kb=64, tag_bits=8, line_bytes=4) == 16


@pytest.mark.reference
def test_256_kb_with_8_bits() -> None:
    # Source: HP Vectra VE 5/xxx Series 4 technical reference p. 19 (read): lowest 64 MB.
    assert mb(size_kb=256, tag_bits=8, line_bytes=32) == 64


@pytest.mark.reference
def test_256_kb_with_11_bits() -> None:
    # Source: TI Extensa 900 service manual 4.2.3.1.1 on the ALi M1521 (read; 256 KB inferred): 512 MB.
    assert mb(size_kb=256, tag_bits=11, line_bytes=32) == 512


@pytest.mark.reference
@pytest.mark.parametrize(
    ("size_kb", "bits", "limit", "want"),
    [(256, 8, 64, 64), (512, 8, 64, 64), (256, 11, 512, 512), (512, 11, 512, 512)],
)
def test_430hx_class_has_fixed_limits(size_kb: int, bits: int, limit: int, want: int) -> None:
    # Source: Intel 82439HX, extended cacheability bit, Ralf Brown's Interrupt List table 01112 bit 2 (read;
    # the 11-bit tag from memory): 64 or 512 MB at any size.
    found = cacheable(size_kb=size_kb, tag_bits=bits, line_bytes=32, chipset_limit_mb=limit)
    assert found.mb.value == want
    assert found.limited_by == ("chipset" if size_kb == 512 else "tag")


@pytest.mark.reference
@pytest.mark.parametrize(("size_kb", "want"), [(16, 2), (32, 4), (64, 8), (128, 16)])
def test_write_back_takes_the_dirty_bit_from_the_tag(size_kb: int, want: float) -> None:
    # Source: OPTi 82C291/295 register, Ralf Brown's Interrupt List P0116 bits 1-0 (read; 8 minus 1 bits
    # inferred).
    assert mb(size_kb=size_kb, tag_bits=8, dirty_bits_from_tag=1, line_bytes=16) == want


@pytest.mark.reference
@pytest.mark.parametrize("size_kb", [32, 64, 128, 256, 512, 1024])
def test_combined_tag_costs_one_bit(size_kb: int) -> None:
    # Source: VIA VT82C496G register, Ralf Brown's Interrupt List P0434 bit 4 (read): combined tag and alter
    # bit.
    apart = mb(size_kb=size_kb, tag_bits=8, line_bytes=16)
    combined = mb(size_kb=size_kb, tag_bits=8, dirty_bits_from_tag=1, line_bytes=16)
    assert apart is not None
    assert combined == apart / 2


@pytest.mark.reference
@pytest.mark.parametrize(
    ("bits", "dirty", "power"), [(8, 0, 8), (8, 1, 7), (9, 1, 8), (11, 1, 10), (10, 0, 10)]
)
def test_split_of_tag_and_dirty_bits_570m(bits: int, dirty: int, power: int) -> None:
    # Source: VIA VT82C570M register, Ralf Brown's Interrupt List P0434 bits 4-3 (read): write-back 8+0, 7+1,
    # 8+1, 10+1; write-through 8 or 10.
    assert mb(size_kb=1024, tag_bits=bits, dirty_bits_from_tag=dirty, line_bytes=32) == 2**power


@pytest.mark.reference
@pytest.mark.parametrize(("address", "modify", "power"), [(8, 0, 8), (7, 1, 7), (10, 0, 10), (9, 1, 9)])
def test_split_of_tag_and_modify_bits_640(address: int, modify: int, power: int) -> None:
    # Source: AMD-640 register, Ralf Brown's Interrupt List table 00984 bits 4-3 (read): 8+0, 7+1, 10+0, 9+1.
    assert mb(size_kb=1024, tag_bits=address + modify, dirty_bits_from_tag=modify, line_bytes=32) == 2**power


@pytest.mark.reference
def test_dirty_bits_on_the_chipset_take_nothing() -> None:
    # Source: SiS 5597/5598 data sheet, features (read): internal dirty RAM of 16K bits = 16K lines = 512 KB
    # / 32.
    assert mb(size_kb=512, tag_bits=8, line_bytes=32) == 128
    assert cacheable(size_kb=512, tag_bits=8, line_bytes=32).entries_needed == 16 * 1024


@pytest.mark.reference
def test_a_firmware_register_is_a_second_limit() -> None:
    # Source: OPTi 82C493 register, Ralf Brown's Interrupt List P0186 (read): steps of 4 MB, default 4, at
    # most 64.
    assert mb(size_kb=256, tag_bits=8, line_bytes=16, chipset_limit_mb=4) == 4
    assert mb(size_kb=512, tag_bits=8, line_bytes=16, chipset_limit_mb=64) == 64


@pytest.mark.reference
@pytest.mark.parametrize("size_kb", [256, 512])
def test_430fx_vx_tx_class_stays_at_64(size_kb: int) -> None:
    # Source: Intel data sheets 290518, 290553, 290559 (from memory): 64 MB whatever the size.
    assert mb(size_kb=size_kb, tag_bits=8, line_bytes=32, chipset_limit_mb=64) == 64


@pytest.mark.reference
def test_256_kb_with_shared_dirty_bit_is_32() -> None:
    # Fact 6 of the ten: 64 MB, 32 MB if the dirty bit shares the tag. From memory.
    assert mb(size_kb=256, tag_bits=8, dirty_bits_from_tag=1, line_bytes=16) == 32


def test_ways_divide_the_range() -> None:
    assert mb(size_kb=256, tag_bits=8, ways=2, line_bytes=16) == 32


def test_bits_must_exist_in_the_tag_chip() -> None:
    found = cacheable(size_kb=512, tag_bits=8, line_bytes=16, tag_entries=16 * 1024)
    assert found.mb.value is None
    assert found.limited_by == "tag depth"
    assert found.mb.why == "512 KB of 16-byte lines needs 32768 tag entries, the tag chip has 16384"
    assert mb(size_kb=512, tag_bits=8, line_bytes=16, tag_entries=32 * 1024) == 128


def test_no_bit_left_is_refused() -> None:
    with pytest.raises(
        LeadoffError, match="8 tag bits of which 8 hold the dirty mark leaves no address bits"
    ):
        cacheable(size_kb=256, tag_bits=8, dirty_bits_from_tag=8, line_bytes=16)
    with pytest.raises(LeadoffError, match="256 KB, 3 ways, 16-byte lines is no cache"):
        cacheable(size_kb=256, tag_bits=8, ways=3, line_bytes=16)


# size, bus, (chips, depth, banks)...; entries at 16- and 32-byte lines
CHIPS = [
    (128, 32, {(4, 32, 1)}, 8, 4),
    (256, 32, {(8, 32, 2), (4, 64, 1)}, 16, 8),
    (256, 64, {(8, 32, 1)}, 16, 8),
    (512, 32, {(4, 128, 1), (8, 64, 2)}, 32, 16),
    (512, 64, {(8, 64, 1), (16, 32, 2)}, 32, 16),
    (1024, 32, {(8, 128, 2)}, 64, 32),
    (1024, 64, {(8, 128, 1)}, 64, 32),
]


@pytest.mark.parametrize(("size_kb", "bus", "chips", "k16", "k32"), CHIPS)
def test_chips_per_cache_size(
    size_kb: int, bus: int, chips: set[tuple[int, int, int]], k16: int, k32: int
) -> None:
    # Fact sheet 3c (derived; anchor read: HP Vectra VE5 256 KB = two 32Kx32).
    found = {(x.chips, x.depth_k, x.banks) for x in layouts_for(size_kb, bus)}
    assert chips <= found
    assert tag_entries(size_kb, 16) == k16 * 1024
    assert tag_entries(size_kb, 32) == k32 * 1024


def test_half_a_megabyte_of_four_chips_is_one_bank() -> None:
    assert layout(chips=4, depth_k=128, bus_bits=32).banks == 1
    assert layout(chips=8, depth_k=64, bus_bits=32).banks == 2
    wide = layout(chips=2, depth_k=32, bus_bits=64, chip_bits=32)
    assert (wide.size_kb, wide.banks) == (256, 1)


def test_a_half_filled_bank_is_refused() -> None:
    with pytest.raises(
        LeadoffError, match="9 chips of 32Kx8 do not fill banks of a 32-bit bus: one bank is 4"
    ):
        layout(chips=9, depth_k=32, bus_bits=32)


shapes = st.fixed_dictionaries(
    {
        "size_kb": st.sampled_from([64, 128, 256, 512, 1024]),
        "tag_bits": st.integers(2, 12),
        "line_bytes": st.sampled_from([16, 32]),
        "ways": st.sampled_from([1, 2, 4]),
    }
)


@given(shape=shapes, limit=st.floats(1, 4096))
def test_never_above_the_chipset_and_one_bit_doubles(shape: dict[str, int], limit: float) -> None:
    free: Cacheable = cacheable(**shape)
    more = cacheable(**{**shape, "tag_bits": shape["tag_bits"] + 1})
    held = cacheable(**shape, chipset_limit_mb=limit)
    assert free.mb.value is not None
    assert more.mb.value == 2 * free.mb.value
    assert held.mb.value == min(free.mb.value, limit)
