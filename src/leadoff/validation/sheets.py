"""Board sheets of generated boards: jumpers, set-up entries, what is fitted, and the state to begin with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leadoff.record.board import BoardSheet, Jumper, Option
from leadoff.validation.rows import ChipsetRow, ClassRow, CpuRow, rows

MENU = "chipset page"


@dataclass(frozen=True)
class Draft:
    """A board before anybody wrote its sheet: what it is, the true state it begins in, what can be set."""

    id: str
    cls: ClassRow
    chipset: ChipsetRow
    cpu: CpuRow
    start: Mapping[str, str]
    reach: Mapping[str, tuple[str, ...]]
    confirmed: bool
    rig: Mapping[str, str]
    note: str = "generated board, invented"


@dataclass(frozen=True)
class Made:
    """A sheet, the true state it begins in, and what each setting can be changed to."""

    sheet: BoardSheet
    start: Mapping[str, str]
    reach: Mapping[str, tuple[str, ...]]


def cpu_rows_row(cpu: CpuRow) -> dict[str, object]:
    """A processor as the row a board file may carry."""
    core = rows().cores[cpu.core]
    row: dict[str, object] = {
        "core": cpu.core,
        "v": cpu.v,
        "v_max": cpu.v_max,
        "amps": cpu.amps,
        "watts": cpu.watts,
        "ratios": list(cpu.ratios),
        "rated_mhz": cpu.rated_mhz,
        "l1_kb": core.l1_kb,
        "certainty": "invented",
    }
    if len(cpu.ratios) == 1:
        row["locked"] = cpu.ratios[0]
    if core.own_l2_kb:
        row |= {"l2_kb": core.own_l2_kb, "l2_clock": f"core/{round(1 / core.own_l2_ratio)}"}
    return row


def _codes(n: int, pins: int) -> tuple[str, ...]:
    return tuple(" ".join("2-3" if i >> b & 1 else "1-2" for b in range(pins)) for i in range(n))


def jumper(
    name: str, setting: str, values: tuple[str, ...], at: tuple[float, float], note: str = ""
) -> Jumper:
    """A jumper group with one code of positions per value."""
    pins = max(1, (len(values) - 1).bit_length())
    codes = _codes(len(values), pins)
    members = tuple(f"{name}{'abcd'[i]}" for i in range(pins)) if pins > 1 else ()
    return Jumper(
        id=name,
        positions=codes,
        sets={setting: dict(zip(codes, values, strict=True))},
        members=members,
        at_mm=at,
        note=note,
    )


def option(name: str, setting: str, values: tuple[str, ...], label: str) -> Option:
    """A set-up entry whose choices are the values themselves."""
    return Option(id=name, choices=values, sets={setting: {v: v for v in values}}, label=label, menu=MENU)


OPTIONS = {
    "l2": ("cache_l2", "second cache"),
    "l2_policy": ("cache_policy", "second cache write policy"),
    "l2_read": ("cache_read", "cache read clocks"),
    "l2_read_ws": ("cache_read_wait", "cache read wait states"),
    "l2_write_ws": ("cache_write_wait", "cache write wait states"),
    "dram_read": ("mem_read", "memory read clocks"),
    "dram_read_ws": ("mem_read_wait", "memory read wait states"),
    "dram_write_ws": ("mem_write_wait", "memory write wait states"),
    "cas": ("mem_cas", "CAS latency"),
    "rcd": ("mem_rcd", "row to column delay"),
    "rp": ("mem_rp", "row precharge"),
    "refresh": ("mem_refresh", "memory refresh"),
    "isa_ratio": ("isa_clock", "expansion bus clock over bus clock"),
    "l1_policy": ("l1_policy", "first cache write policy"),
}
JUMPERS = {
    "bus_mhz": ("jp1", (38.0, 61.0)),
    "ratio": ("jp4", (52.0, 74.0)),
    "core_v": ("jp6", (20.0, 112.0)),
    "vlb_ws": ("jp8", (88.0, 30.0)),
    "pci_ratio": ("jp9", (93.0, 42.0)),
}
SOFTWARE = ("write_alloc", "write_combine", "profile")
