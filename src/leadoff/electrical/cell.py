"""How long a primary cell keeps a clock part alive."""

from __future__ import annotations

import math

from leadoff.electrical.errors import within

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
