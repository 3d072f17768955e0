"""Bus clock and ratio from a timed core clock, where the state does not have them: which pairs the board offers."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import msgspec

from leadoff.evidence.facts import Fact, Rank
from leadoff.evidence.rows import limit
from leadoff.forecast.facts import Setup
from leadoff.machine.effects import carriers_of

USUAL_BUSES = tuple(map(Fraction, ("16", "20", "25", "100/3", "40", "50", "60", "200/3", "75", "83", "100")))
"""Tried where the sheet lists none (common practice, no source)."""

MOST = 6


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """A bus clock and a ratio that make the timed core clock; ``off_pct`` is how far from it."""

    bus_mhz: Fraction
    ratio: Fraction
    off_pct: float


def inferred(setup: Setup, facts: Sequence[Fact]) -> tuple[float, tuple[Pair, ...]] | None:
    """The timed core clock and the pairs that make it, the nearest first.

    ``None`` where the core was not timed, or bus clock and ratio are both known already.
    """
    timed = [f for f in facts if f.setting == "core_mhz" and f.rank in (Rank.COUNTER, Rank.TIMER)]
    bus, ratio = setup.clocks.get("bus_mhz"), setup.state.value("ratio")
    if not timed or (bus is not None and ratio is not None):
        return None
    mhz = float(Fraction(timed[-1].canonical))
    buses = [bus] if bus is not None else _buses(setup)
    ratios = [Fraction(ratio)] if ratio is not None else _ratios(setup)
    pairs = [
        Pair(bus_mhz=b, ratio=r, off_pct=100 * (float(b * r) / mhz - 1))
        for b in buses
        for r in ratios
        if abs(float(b * r) / mhz - 1) <= limit("pair_fit")
    ]
    return mhz, tuple(sorted(pairs, key=lambda p: abs(p.off_pct))[:MOST])


def _buses(setup: Setup) -> list[Fraction]:
    listed = {Fraction(v) for c in carriers_of(setup.sheet, "bus_mhz") for v in c.sets["bus_mhz"].values()}
    listed |= {Fraction(v) for v in setup.sheet.clock_table_mhz}
    return sorted(listed or USUAL_BUSES)


def _ratios(setup: Setup) -> list[Fraction]:
    part = setup.processor
    if part is not None and part.locked is not None:
        return [part.locked]
    if part is not None and part.ratios:
        return sorted(part.ratios)
    listed = {Fraction(v) for c in carriers_of(setup.sheet, "ratio") for v in c.sets["ratio"].values()}
    return sorted(listed) or [Fraction(n, 2) for n in range(2, 12)]
