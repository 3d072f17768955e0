"""Delays at another temperature and supply."""

from __future__ import annotations

from leadoff.record.errors import LeadoffError
from leadoff.timing.delays import Derating


def delay_factor(row: Derating, *, temp_c: float, volts_pct: float) -> float:
    """Factor on all real delays at a chip temperature and a supply ``volts_pct`` above nominal.

    1 at room temperature and nominal volts, above 1 when hot or starved. For the temperatures and volts in
    the row only; it says nothing about damage.
    """
    if not (row.min_c <= temp_c <= row.max_c and abs(volts_pct) <= row.volts_pct_max):
        raise LeadoffError.one(
            "derating-out-of-range",
            f"{temp_c:g} C and {volts_pct:+g} % volts: the rule holds from {row.min_c:g} to {row.max_c:g} C "
            f"and within {row.volts_pct_max:g} %",
            where="temp_c",
            do="give the chip's temperature in C and the supply in per cent above nominal",
        )
    return (1.0 + row.per_c * (temp_c - row.room_c)) / (1.0 + volts_pct / 100.0)
