"""What a sheet offers: bus clocks and ratios, as the part that is fitted reads them."""

from __future__ import annotations

from fractions import Fraction

from leadoff.machine.adapter import adapter_of
from leadoff.machine.effects import carriers_of
from leadoff.machine.fold import BoardFold
from leadoff.machine.partfacts import Processor
from leadoff.machine.straps import StrapTable, translate, undefined_straps
from leadoff.record.board import BoardSheet


def offered(sheet: BoardSheet, name: str) -> set[Fraction]:
    """The values that positions of the sheet give a numeric setting; positions to be left alone do not count."""
    return {Fraction(v) for c in carriers_of(sheet, name) if not c.leave for v in c.sets[name].values()}


def offered_buses(sheet: BoardSheet) -> set[Fraction]:
    """Bus clocks by jumper, by entry or by the table of the clock source."""
    return offered(sheet, "bus_mhz") | {Fraction(c) for c in sheet.clock_table_mhz}


def offered_ratios(fold: BoardFold, part: Processor | None, base: StrapTable | None) -> set[Fraction]:
    """Ratios that can be set with this part; empty where nothing is known of them."""
    if part is not None and part.locked is not None:
        return {part.locked}
    straps = (part.straps if part else None) or base
    sheet = fold.sheet
    adapter = adapter_of(fold.said, sheet)
    if adapter is not None and adapter.ratio_straps and straps is not None:
        return set(straps.codes.values())
    found = offered(sheet, "ratio")
    if found:
        found = {made for r in found if (made := as_read(r, part, base)) is not None}
    elif straps is not None:
        found = set(straps.reachable(sheet.ratio_pins_wired).values())
    if part is not None:
        found = {r for r in found if part.makes(r) is not False}
    return found


def as_read(sheet_ratio: Fraction, part: Processor | None, base: StrapTable | None) -> Fraction | None:
    """The ratio this part makes of the straps for which the sheet names one; ``None`` when it defines none."""
    if part is None or part.straps is None or base is None:
        return sheet_ratio
    if undefined_straps(sheet_ratio, base, part.straps):
        return None
    return translate(sheet_ratio, base, part.straps) or sheet_ratio
