"""All clocks of a state, as exact fractions, each with where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import msgspec

from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.quantity import Quantity, Source, unknown
from leadoff.record.state import Setting, State, Status

NAMES = ("core_mhz", "bus_mhz", "pci_mhz", "vlb_mhz", "isa_mhz", "agp_mhz", "mem_mhz", "l2_mhz")


class Clock(msgspec.Struct, frozen=True, kw_only=True):
    """One clock: the exact value in MHz or ``None``, its source and the reason in words."""

    mhz: Fraction | None
    source: Source
    why: str

    def quantity(self) -> Quantity:
        """The clock as the contract prints it."""
        if self.mhz is None:
            return unknown("MHz", self.why)
        return Quantity(value=float(self.mhz), unit="MHz", source=self.source, why=self.why)


def clocks(state: State, sheet: BoardSheet, processor: Processor | None = None) -> dict[str, Clock]:
    """Every clock that exists on this board, by contract name; unknown ones say why.

    VLB runs at the bus clock; PCI, ISA, AGP and memory by the ratio set or on the sheet, or on a clock of
    their own. Between two rows of the sheet the ratio of the lower one is assumed, and said so. A measured
    clock is believed before a computed one.
    """
    bus = _set(state, "bus_mhz")
    out = {"bus_mhz": bus, "core_mhz": _core(state, bus)}
    if _has(sheet, "vlb"):
        out["vlb_mhz"] = _times(bus, Fraction(1), "the local bus runs at the bus clock")
    for name in ("pci", "agp", "isa"):
        if _has(sheet, name) or name in sheet.dividers:
            out[f"{name}_mhz"] = _side(state, sheet, name, bus)
    if "mem" in sheet.dividers or state.value("mem_mhz") is not None:
        out["mem_mhz"] = _side(state, sheet, "mem", bus)
    if processor is not None and processor.l2_clock is not None:
        out["l2_mhz"] = _times(
            out["core_mhz"],
            processor.l2_clock,
            f"cache on the part at {processor.l2_clock} of the core clock",
        )
    return out


def _has(sheet: BoardSheet, bus: str) -> bool:
    return any(b == bus or b.startswith(bus) for b in sheet.buses)


def _source(status: Status, source: Source) -> Source:
    return Source.ASSUMED if status in (Status.ASSUMED, Status.DISPUTED) else source


def _set(state: State, name: str) -> Clock:
    setting = state.get(name)
    if setting.value is None:
        return Clock(mhz=None, source=Source.UNKNOWN, why=setting.why or f"{name} was never said")
    return Clock(mhz=Fraction(setting.value), source=_source(setting.status, setting.source), why=setting.why)


def _times(base: Clock, ratio: Fraction, why: str) -> Clock:
    if base.mhz is None:
        return Clock(mhz=None, source=Source.UNKNOWN, why=base.why)
    source = Source.ASSUMED if base.source is Source.ASSUMED else Source.COMPUTED
    return Clock(mhz=base.mhz * ratio, source=source, why=why)


def _core(state: State, bus: Clock) -> Clock:
    said = _set(state, "core_mhz")
    if said.mhz is not None:
        return said
    ratio = state.get("ratio")
    if ratio.value is None:
        why = ratio.why or "the ratio was never said"
        return Clock(mhz=None, source=Source.UNKNOWN, why=why)
    return _doubted(_times(bus, Fraction(ratio.value), f"bus x {ratio.value}"), ratio)


def _doubted(made: Clock, ratio: Setting) -> Clock:
    """A clock made with a ratio that is only assumed, or disputed, is assumed itself."""
    if made.mhz is not None and ratio.status in (Status.ASSUMED, Status.DISPUTED):
        return Clock(mhz=made.mhz, source=Source.ASSUMED, why=f"{made.why}; {ratio.why}")
    return made


def _side(state: State, sheet: BoardSheet, name: str, bus: Clock) -> Clock:
    own = _set(state, f"{name}_mhz")
    if own.mhz is not None:
        return own
    ratio = state.get(f"{name}_ratio")
    if ratio.value is not None:
        return _doubted(_times(bus, Fraction(ratio.value), f"bus x {ratio.value}"), ratio)
    if bus.mhz is None:
        return Clock(mhz=None, source=Source.UNKNOWN, why=bus.why)
    found = divider(sheet, name, bus.mhz)
    if found is not None:
        return _times(bus, found, f"bus x {found} on the sheet")
    below = _divider_below(sheet, name, bus.mhz)
    if below is None:
        why = f"the sheet gives no {name.upper()} ratio for a bus of {float(bus.mhz):.4g} MHz"
        return Clock(mhz=None, source=Source.UNKNOWN, why=why)
    row, times = below
    why = (
        f"bus x {times} as at {float(row):.4g} MHz: the sheet gives no {name.upper()} ratio for "
        f"{float(bus.mhz):.4g} MHz"
    )
    return Clock(mhz=bus.mhz * times, source=Source.ASSUMED, why=why)


def divider(sheet: BoardSheet, name: str, bus_mhz: Fraction) -> Fraction | None:
    """The sheet's ratio of another bus at this bus clock: nearest row within 2 %, or its ``*`` row."""
    table = sheet.dividers.get(name, {})
    near = [(abs(k / bus_mhz - 1), v) for k, v in _rows(table) if abs(k / bus_mhz - 1) <= Fraction(2, 100)]
    if near:
        return min(near)[1]
    return Fraction(table["*"]) if "*" in table else None


def _divider_below(sheet: BoardSheet, name: str, bus_mhz: Fraction) -> tuple[Fraction, Fraction] | None:
    """The row of the next lower bus clock: boards change the ratio at a strapped clock, not between two."""
    return max((row for row in _rows(sheet.dividers.get(name, {})) if row[0] < bus_mhz), default=None)


def _rows(table: Mapping[str, str]) -> list[tuple[Fraction, Fraction]]:
    return [(Fraction(k), Fraction(v)) for k, v in table.items() if k != "*"]
