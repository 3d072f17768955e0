"""Cache chips on a board: how many, how deep, in how many banks."""

from __future__ import annotations

import msgspec

from leadoff.record.errors import LeadoffError

_DEPTHS_K = (8, 16, 32, 64, 128, 256)


class Layout(msgspec.Struct, frozen=True, kw_only=True):
    """Data chips of a cache. Two banks are what lets slow chips answer one beat a clock."""

    size_kb: int
    banks: int
    chips: int
    depth_k: int
    chip_bits: int = 8


def layout(*, chips: int, depth_k: int, bus_bits: int, chip_bits: int = 8) -> Layout:
    """Size and banks from the chips counted on the board: ``layout(chips=4, depth_k=128, bus_bits=32)``.

    Chips in a bank = bus bits / chip bits; parity and tag chips are not to be counted.
    """
    per_bank = _per_bank(bus_bits, chip_bits)
    if depth_k not in _DEPTHS_K or chips < per_bank or chips % per_bank or chips // per_bank not in (1, 2, 4):
        raise LeadoffError.one(
            "cache-layout-impossible",
            f"{chips} chips of {depth_k}Kx{chip_bits} do not fill banks of a {bus_bits}-bit bus: "
            f"one bank is {per_bank} chips",
            where="chips",
            do="count the data chips only, without tag and parity chips",
        )
    banks = chips // per_bank
    return Layout(
        size_kb=banks * bus_bits // 8 * depth_k,
        banks=banks,
        chips=chips,
        depth_k=depth_k,
        chip_bits=chip_bits,
    )


def layouts_for(size_kb: int, bus_bits: int, *, chip_bits: int = 8) -> tuple[Layout, ...]:
    """Every way to make that size with one or two banks of usual chips, fewest chips first."""
    per_bank = _per_bank(bus_bits, chip_bits)
    found = [
        layout(chips=banks * per_bank, depth_k=depth, bus_bits=bus_bits, chip_bits=chip_bits)
        for banks in (1, 2)
        for depth in _DEPTHS_K
    ]
    return tuple(x for x in found if x.size_kb == size_kb)


def tag_entries(size_kb: int, line_bytes: int) -> int:
    """Lines of a direct-mapped cache, each of which needs a tag entry."""
    return size_kb * 1024 // line_bytes


def _per_bank(bus_bits: int, chip_bits: int) -> int:
    if bus_bits not in (16, 32, 64) or chip_bits not in (4, 8, 16, 32) or chip_bits > bus_bits:
        raise LeadoffError.one(
            "bus-width-out-of-range",
            f"a {bus_bits}-bit bus of {chip_bits}-bit chips is not described",
            where="bus_bits",
            do="16, 32 or 64 bits; chips of 4, 8, 16 or 32 bits",
        )
    return bus_bits // chip_bits
