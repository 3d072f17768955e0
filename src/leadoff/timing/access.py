"""Plain budgets and rates in the form in which the makers' manuals print them."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.errors import LeadoffError
from leadoff.timing.clocks import Clock, as_mhz, period_ns
from leadoff.timing.pattern import Pattern


def access_budget_ns(*, clock_mhz: Clock, periods: float, delays_ns: Sequence[float]) -> float:
    """Longest access time that fits: periods x period - sum of the other delays, ns; may be negative.

    ``clock_mhz`` is the clock whose periods are counted (CLK2 on a 386). Source: Intel386 DX Hardware
    Reference Manual 231732, sections 6.2.7 and 6.3.3.5.
    """
    return periods * period_ns(clock_mhz) - sum(delays_ns)


def fill_mb_per_s(*, line_bytes: int, pattern: Pattern, clock_mhz: Clock) -> float:
    """Rate of back-to-back line fills, 10^6 bytes a second: line / clocks x MHz.

    Source: the identity behind the rates on the front page of the Intel486 DX data sheet 240440.
    """
    if line_bytes not in (4, 8, 16, 32, 64, 128):
        raise LeadoffError.one(
            "line-out-of-range",
            f"a line of {line_bytes} bytes is not one of 4, 8, 16, 32, 64, 128",
            where="line_bytes",
            do="486 lines have 16 bytes, 64-bit buses 32",
        )
    return line_bytes / pattern.clocks * as_mhz(clock_mhz)
