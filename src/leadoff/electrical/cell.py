"""How long a primary cell keeps a clock part alive."""

from __future__ import annotations

import math

from leadoff.electrical.errors import within

SHELF_YEARS = 10.0
"""No answer is longer: seals and self-discharge end a cell that nothing drains. Judgement."""
HOURS_PER_YEAR = 365.25 * 24.0


def cell_years(
    *,
    capacity_mah: float,
    drain_ua: float,
    self_discharge_pct_per_year: float = 0.0,
    powered_share: float = 0.0,
) -> float:
    """Years until a coin cell is empty.

    ``drain_ua`` is taken with the board off, ``powered_share`` (0..1) is the share of time in which the
    board is on and the cell rests. With self-discharge s (share of what is left, per year) and drain d
    (capacities per year) the charge follows q' = -d - s q, so t = ln(1 + s/d) / s; without it t = 1/d.
    Good for 1 to 3000 mAh and 0.01 to 5000 uA at room temperature; a real cell ends earlier because the
    clock part stops at about 2.2 to 2.4 V. Source: charge balance; worked example in the test.
    """
    within("capacity_mah", capacity_mah, 1.0, 3000.0, "mAh", "a clock cell is meant")
    within("drain_ua", drain_ua, 0.01, 5000.0, "uA", "a clock part's stand-by current is meant")
    within("self_discharge_pct_per_year", self_discharge_pct_per_year, 0.0, 50.0, "% a year", "primary cells")
    within("powered_share", powered_share, 0.0, 0.999, "of 1", "it is a share of time, not all of it")
    drained = drain_ua / 1000.0 * HOURS_PER_YEAR * (1.0 - powered_share) / capacity_mah
    lost = self_discharge_pct_per_year / 100.0
    return 1.0 / drained if lost == 0.0 else math.log1p(lost / drained) / lost


def drain_from_drop_ua(millivolts: float, ohms: float) -> float:
    """Clock current from the drop across a resistor in series with the cell: I = U / R (1 kohm: 1 mV is 1 uA).

    Good for 0.01 to 500 mV and 100 ohm to 100 kohm: a larger drop starves the clock part.
    Source: Ohm's law; common practice for the resistor, no source.
    """
    within("millivolts", millivolts, 0.01, 500.0, "mV", "a larger drop starves the clock part")
    within("ohms", ohms, 100.0, 100_000.0, "ohm", "a resistor in series with the cell is meant")
    return millivolts / ohms * 1000.0


def blocking_ohms(*, supply_volts: float, cell_volts: float, limit_ma: float) -> float:
    """Least resistor beside one diode that keeps the charge current at the maker's limit when the diode has failed.

    R = (Vsupply - Vcell) / I with the diode taken as shorted and the cell discharged. For 0 to 15 V and 0.1 to
    100 mA. A primary lithium cell is never charged on purpose: this is the second line of defence only.
    Source: lithium coin cell designer's guide (cell maker), p. 53: two diodes, or a diode and a resistor.
    """
    within("supply_volts", supply_volts, 0.0, 15.0, "V", "a board's rail is meant")
    within("cell_volts", cell_volts, 0.0, supply_volts, "V", "above the supply nothing flows into the cell")
    within("limit_ma", limit_ma, 0.1, 100.0, "mA", "the listed limit of a coin cell is 10 to 25 mA")
    return (supply_volts - cell_volts) / limit_ma * 1000.0


def may_be_fitted(chemistry: str, *, charge_path: bool | None) -> bool | None:
    """Whether a cell may sit on this board: a primary one never on a charge path, ``None`` when that is not measured.

    ``chemistry`` is primary (lithium coin, alkaline) or rechargeable. Source: Handbook of Batteries 8.4.
    """
    if chemistry == "rechargeable":
        return True
    return None if charge_path is None else not charge_path
