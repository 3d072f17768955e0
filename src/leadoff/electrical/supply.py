"""What a power supply needs to regulate, and when its power-good line is believable."""

from __future__ import annotations

import msgspec

from leadoff.electrical.errors import within
from leadoff.electrical.limits import PowerGoodLimits, supply_limits


class Rail(msgspec.Struct, frozen=True, kw_only=True):
    """One output of a supply: nominal volts and the amps between which it regulates."""

    volts: float
    min_amps: float
    max_amps: float


class RailLoad(msgspec.Struct, frozen=True, kw_only=True):
    """How far a load is from what the rail asks for; both distances are 0 when it fits."""

    amps: float
    short_of_minimum_amps: float
    over_maximum_amps: float

    @property
    def ok(self) -> bool:
        """True when the load lies between minimum and maximum."""
        return self.short_of_minimum_amps == 0.0 and self.over_maximum_amps == 0.0


class PowerGood(msgspec.Struct, frozen=True, kw_only=True):
    """Whether a measured power-good delay is believable, and why."""

    ok: bool
    why: str


def rail_load(rail: Rail, amps: float) -> RailLoad:
    """Compare a load with a rail's minimum and maximum. A supply below its minimum load may not start,
    or may start with its other rails out of limits."""
    within("amps", amps, 0.0, 200.0, "A", "a load takes current")
    return RailLoad(
        amps=amps,
        short_of_minimum_amps=max(0.0, rail.min_amps - amps),
        over_maximum_amps=max(0.0, amps - rail.max_amps),
    )


def dummy_load_ohms(rail: Rail, amps: float) -> float | None:
    """Largest resistor, R = V / I, that fills a load up to the minimum; None when none is needed."""
    short = rail_load(rail, amps).short_of_minimum_amps
    return None if short == 0.0 else rail.volts / short


def dummy_load_watts(rail: Rail, amps: float) -> float:
    """Heat of that resistor, V I; 0 when none is needed. Fit a part rated for at least twice of it."""
    return rail.volts * rail_load(rail, amps).short_of_minimum_amps


def power_good(delay_ms: float, *, limits: PowerGoodLimits | None = None) -> PowerGood:
    """Judge a measured power-good delay. 0 ms means that the line is simply tied to a rail: reset is then
    released into rising rails."""
    within("delay_ms", delay_ms, 0.0, 60_000.0, "ms", "a delay after the rails are up is meant")
    row = limits or supply_limits().power_good
    if delay_ms < row.delay_min_ms:
        why = f"{delay_ms:g} ms is under {row.delay_min_ms:g} ms: reset may end before the rails are steady"
        return PowerGood(ok=False, why=why)
    if delay_ms > row.delay_max_ms:
        why = f"{delay_ms:g} ms is over {row.delay_max_ms:g} ms: a rail comes up late or the line is weak"
        return PowerGood(ok=False, why=why)
    return PowerGood(ok=True, why=f"between {row.delay_min_ms:g} and {row.delay_max_ms:g} ms")


def rail_ok(volts: float, nominal_volts: float, *, tolerance_pct: float | None = None) -> bool:
    """True when a measured rail is within its tolerance (5 % unless given)."""
    within("nominal_volts", nominal_volts, 0.5, 15.0, "V", "a positive rail is meant")
    pct = supply_limits().rail.tolerance_pct if tolerance_pct is None else tolerance_pct
    return abs(volts / nominal_volts - 1.0) * 100.0 <= pct + 1e-9
