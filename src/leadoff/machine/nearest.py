"""The reachable states nearest to one that cannot be set, adapters between socket and part included."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from itertools import product

import msgspec

from leadoff.machine.adapter import adapter_of
from leadoff.machine.effects import carriers_of
from leadoff.machine.fold import BoardFold
from leadoff.machine.offers import offered, offered_buses, offered_ratios
from leadoff.machine.partfacts import Processor
from leadoff.machine.reach import Reach, Want, reach
from leadoff.machine.straps import StrapTable
from leadoff.record.board import BoardSheet, Rail

SUPPLY_FITS = 0.05
"""A rail within five percent of what the part asks for is taken as meant for it (common practice)."""


class Nearest(msgspec.Struct, frozen=True, kw_only=True):
    """A state that could be set instead. ``how`` says what it takes besides moves, ``changes`` the wants."""

    bus_mhz: Fraction | None
    ratio: Fraction | None
    settings: Mapping[str, str]
    how: str
    same_part: bool

    @property
    def core_mhz(self) -> Fraction | None:
        if self.bus_mhz is None or self.ratio is None:
            return None
        return self.bus_mhz * self.ratio


def nearest(
    fold: BoardFold,
    wants: Iterable[Want],
    *,
    part: Processor | None,
    base: StrapTable | None,
    bus_now: Fraction | None,
    ratio_now: Fraction | None,
    most: int = 6,
) -> tuple[Nearest, ...]:
    """Up to ``most`` reachable alternatives, the closest in clocks first.

    On the wired board with this part where its supply fits; with an adapter of its own regulator; with one
    that has ratio straps too; with another part for the rails there are.
    """
    asked = {w.name: w.value for w in wants}
    bus = Fraction(v) if (v := asked.get("bus_mhz")) else bus_now
    ratio = Fraction(v) if (v := asked.get("ratio")) else ratio_now
    if ratio is None and (core := asked.get("core_mhz")) and bus is not None:
        ratio = Fraction(core) / bus
    found = list(_with_this_part(fold, part, base, bus, ratio))
    found += _adapters(fold.sheet, part, base, bus, ratio)
    found += _other_part(fold, part, base, bus, ratio)
    # A different straps reading is worth naming even when it is far: it is what an adapter really does.
    found.sort(key=lambda n: (_distance(n, bus, ratio), not n.same_part, n.how))
    return tuple(found[:most])


def reachable_clocks(
    fold: BoardFold, part: Processor | None, base: StrapTable | None
) -> tuple[tuple[Fraction, Fraction | None, Reach], ...]:
    """Every pair of bus clock and ratio the sheet can set with this part, with the way there."""
    buses = sorted(offered_buses(fold.sheet))
    ratios = _ratios(fold, part, base)
    out = []
    for bus, ratio in product(buses, ratios):
        wants = [Want(name="bus_mhz", value=str(bus))]
        if ratio is not None:
            wants.append(Want(name="ratio", value=str(ratio)))
        way = reach(fold, wants, part=part, base=base)
        if way.reachable:
            out.append((bus, ratio, way))
    return tuple(out)


def _ratios(fold: BoardFold, part: Processor | None, base: StrapTable | None) -> tuple[Fraction | None, ...]:
    if part is not None and part.locked is not None:
        return (None,)
    return tuple(sorted(offered_ratios(fold, part, base))) or (None,)


def _with_this_part(
    fold: BoardFold,
    part: Processor | None,
    base: StrapTable | None,
    bus: Fraction | None,
    ratio: Fraction | None,
) -> Iterator[Nearest]:
    if part is not None and _fits(fold, part) is False:
        return
    pairs = list(reachable_clocks(fold, part, base))
    if not pairs and bus is not None:
        pairs = [
            (bus, r, way)
            for r in _ratios(fold, part, base)
            if r is not None
            and (way := reach(fold, [Want(name="ratio", value=str(r))], part=part, base=base)).reachable
        ]
    fixed = part.locked if part is not None else None
    rail = (
        rail_for(fold.sheet, part) if part is not None and adapter_of(fold.said, fold.sheet) is None else None
    )
    supply = {"core_v": rail} if rail is not None else {}
    for b, r, _ in pairs:
        made = r if r is not None else (fixed or ratio)
        settings = {"bus_mhz": str(b)} | ({"ratio": str(r)} if r is not None else {}) | supply
        yield Nearest(bus_mhz=b, ratio=made, settings=settings, how="by this board's jumpers", same_part=True)


def supply_fits(sheet: BoardSheet, part: Processor) -> bool | None:
    """Whether a rail of the board is meant for the part; ``None`` when either is not known."""
    target = part.v_typ or part.v_max
    if not sheet.rails or target is None:
        return None
    lo = min(part.v_min or target * (1 - SUPPLY_FITS), target)
    hi = max(part.v_max or 0.0, target * (1 + SUPPLY_FITS))
    return any(lo <= float(r.v) <= hi for r in sheet.rails)


def _fits(fold: BoardFold, part: Processor) -> bool | None:
    """The same with the adapter that is fitted, where one is."""
    adapter = adapter_of(fold.said, fold.sheet)
    if adapter is None:
        return supply_fits(fold.sheet, part)
    return supply_fits(msgspec.structs.replace(fold.sheet, rails=(Rail(v=adapter.v),)), part)


def _adapters(
    sheet: BoardSheet,
    part: Processor | None,
    base: StrapTable | None,
    bus: Fraction | None,
    ratio: Fraction | None,
) -> Iterator[Nearest]:
    """Adapters exist for sockets whose parts are strapped; a plain one keeps the board's straps."""
    if part is None or part.straps is None or part.v_typ is None or bus is None:
        return
    volts = f"{part.v_typ:g}"
    for code, made in sorted(part.straps.reachable(sheet.ratio_pins_wired).items()):
        sheet_reads = base.codes.get(code) if base is not None else None
        how = f"with an adapter that has its own {volts} V regulator, straps from the board"
        if sheet_reads is not None and sheet_reads != made:
            how += f"; where the part decodes it: the same straps mean x{float(sheet_reads):g} on older parts"
        settings = {"bus_mhz": str(bus), "ratio": str(made), "core_v": volts, "interposer": f"{volts} V"}
        yield Nearest(bus_mhz=bus, ratio=made, settings=settings, how=how, same_part=True)
    if ratio is not None and part.makes(ratio) is not False:
        settings = {
            "bus_mhz": str(bus),
            "ratio": str(ratio),
            "core_v": volts,
            "interposer": f"{volts} V with ratio straps",
        }
        how = f"with an adapter that has its own {volts} V regulator and its own ratio straps"
        yield Nearest(bus_mhz=bus, ratio=ratio, settings=settings, how=how, same_part=True)


def _other_part(
    fold: BoardFold,
    part: Processor | None,
    base: StrapTable | None,
    bus: Fraction | None,
    ratio: Fraction | None,
) -> Iterator[Nearest]:
    """What the board does with a part for its own rails, where this one's supply does not fit."""
    if part is None or base is None or bus is None or _fits(fold, part) is not False:
        return
    reach_of_base = set(base.reachable(fold.sheet.ratio_pins_wired).values())
    on_sheet = offered(fold.sheet, "ratio")
    ratios = sorted(reach_of_base & on_sheet if on_sheet else reach_of_base)
    if not ratios:
        return
    best = min(ratios, key=lambda r: abs(math.log(float(r / ratio))) if ratio else -float(r))
    rails = " or ".join(r.v for r in fold.sheet.rails)
    settings = {"bus_mhz": str(bus), "ratio": str(best), "cpu": f"a {rails} V part"}
    yield Nearest(
        bus_mhz=bus, ratio=best, settings=settings, how=f"with a part made for {rails} V", same_part=False
    )


def _distance(n: Nearest, bus: Fraction | None, ratio: Fraction | None) -> float:
    total = 0.0
    if bus is not None and n.bus_mhz is not None:
        total += abs(math.log(n.bus_mhz / bus))
    if bus is not None and ratio is not None and n.core_mhz is not None:
        total += abs(math.log(n.core_mhz / (bus * ratio)))
    return round(total, 9)


def rail_for(sheet: BoardSheet, part: Processor) -> str | None:
    """The value of a core volts position that is meant for the part, the nearest to its nominal."""
    target = part.v_typ or part.v_max
    if target is None:
        return None
    offered = {v for c in carriers_of(sheet, "core_v") if not c.leave for v in c.sets["core_v"].values()}
    fit = [v for v in offered if abs(float(v) / target - 1) <= SUPPLY_FITS]
    return min(fit, key=lambda v: (abs(float(v) - target), v), default=None)
