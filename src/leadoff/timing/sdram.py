"""Synchronous memory: which CAS latency is valid at a clock, and the clock counts that follow."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.timing.clocks import Clock, clocks_for, period_ns

# A typed 66.67 gives 14.9993 ns against a 15.0 ns limit; crystals vary by about as much.
_TYPED_PERIOD_TOLERANCE = 2e-4


class CasVerdict(msgspec.Struct, frozen=True, kw_only=True):
    """One CAS latency at one clock: the period, the part's shortest period at that latency, the slack."""

    cl: int
    period_ns: float
    limit_ns: float
    slack_ns: float
    inside: bool


class SdramClocks(msgspec.Struct, frozen=True, kw_only=True):
    """Whole clocks for RAS to CAS and for precharge."""

    rcd: int
    rp: int


def cas_limits(*, clock_mhz: Clock, tck_ns_by_cl: Mapping[int, float]) -> tuple[CasVerdict, ...]:
    """Each CAS latency the part is rated for, lowest first, at this clock.

    A latency is inside when the clock's period is not shorter than the part's shortest period (tCK) at that
    latency: 8 ns parts rated at CAS latency 3 hold that number to 125 MHz. A latency absent from the map is
    not rated, which is not the same as impossible.
    """
    if not tck_ns_by_cl or not all(1 <= cl <= 5 and 1.0 <= t <= 100.0 for cl, t in tck_ns_by_cl.items()):
        raise LeadoffError.one(
            "cas-table-out-of-range",
            f"{dict(tck_ns_by_cl)!r} is no table of CAS latency 1 to 5 to tCK 1 to 100 ns",
            where="tck_ns_by_cl",
            do="read both from the data sheet or from bytes 9, 18, 23 of the module's presence-detect chip",
        )
    period = period_ns(clock_mhz)
    found = []
    for cl, limit in sorted(tck_ns_by_cl.items()):
        inside = period >= limit * (1.0 - _TYPED_PERIOD_TOLERANCE)
        found.append(
            CasVerdict(cl=cl, period_ns=period, limit_ns=limit, slack_ns=period - limit, inside=inside)
        )
    return tuple(found)


def sdram_clocks(*, clock_mhz: Clock, trcd_ns: float, trp_ns: float) -> SdramClocks:
    """tRCD and tRP in whole clocks: ceil(time x clock). 20 ns is 2 at 66 and at 100 MHz."""
    return SdramClocks(rcd=clocks_for(trcd_ns, clock_mhz), rp=clocks_for(trp_ns, clock_mhz))


def sdram_totals(*, controller_clocks: int, cl: int, clocks: SdramClocks) -> tuple[int, int, int]:
    """Clocks to the first data for page hit, row miss and page miss.

    Hit = controller + CAS latency; the additive rule gives the rest. ``controller_clocks`` is the chipset's
    own share (address, decision, data return) and has no default: it differs by class.
    """
    if controller_clocks < 1 or cl < 1:
        raise LeadoffError.one(
            "clocks-out-of-range",
            f"{controller_clocks} controller clocks and CAS latency {cl}: both are at least 1",
            where="controller_clocks, cl",
            do="take them from the chipset row and the module",
        )
    hit = controller_clocks + cl
    return hit, hit + clocks.rcd, hit + clocks.rcd + clocks.rp
