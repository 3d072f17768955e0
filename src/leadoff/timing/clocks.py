"""Clocks as people write them, and whole clocks that cover a time."""

from __future__ import annotations

import math
from fractions import Fraction

from leadoff.record.errors import LeadoffError

Clock = float | Fraction | str
"""MHz: a number, a ``Fraction``, or text such as ``"100/3"``."""

# A typed 66.67 stands for 200/3, and a crystal is good to about 100 ppm; without this share of a clock a
# 30 ns time would cost three clocks of a "66.67 MHz" bus instead of two.
_TYPED_CLOCK_TOLERANCE = 0.002

# Sums of decimal delays in binary floating point miss an exact zero margin by some 1e-14 ns.
ZERO_NS = 1e-6


def as_mhz(clock: Clock) -> float:
    """A clock as a number of MHz; good for 1 to 1000 MHz, else ``LeadoffError``."""
    try:
        mhz = float(Fraction(clock)) if isinstance(clock, str) else float(clock)
    except (ValueError, ZeroDivisionError):
        mhz = math.nan
    if not 1.0 <= mhz <= 1000.0:
        raise LeadoffError.one(
            "clock-out-of-range",
            f"clock {clock!s} MHz is not between 1 and 1000 MHz, so no period follows from it",
            where="clock_mhz",
            do='give MHz as a number or a fraction, such as 40 or "100/3"',
        )
    return mhz


def period_ns(clock: Clock) -> float:
    """Length of one clock in ns: 1000 / MHz."""
    return 1000.0 / as_mhz(clock)


def clocks_for(ns: float, clock: Clock) -> int:
    """Fewest whole clocks that cover ``ns``: ceil(ns f), forgiving the rounding of a typed clock."""
    if not 0.0 <= ns < 1e6:
        raise LeadoffError.one(
            "time-out-of-range",
            f"{ns:g} ns is not a delay of a part; 0 to 1e6 ns is understood",
            where="ns",
            do="give nanoseconds from the data sheet",
        )
    return math.ceil(ns / period_ns(clock) - _TYPED_CLOCK_TOLERANCE)
