"""One way to say that a figure is outside of what a formula is good for."""

from __future__ import annotations

import math

from leadoff.record.errors import LeadoffError


def within(name: str, value: float, lo: float, hi: float, unit: str, why: str) -> float:
    """Return ``value`` when ``lo <= value <= hi``; otherwise raise ``LeadoffError`` with all three."""
    if not math.isfinite(value) or not lo <= value <= hi:
        raise LeadoffError.one(
            "out-of-range",
            f"{name} is {value:g} {unit}; the formula holds from {lo:g} to {hi:g} {unit}: {why}",
            where=name,
            do=f"give {name} in {unit}, from {lo:g} to {hi:g}",
        )
    return value
