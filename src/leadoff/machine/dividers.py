"""Ratios of the expansion clocks to the processor's bus clock, as people write them."""

from __future__ import annotations

from fractions import Fraction

from leadoff.record.errors import LeadoffError

_ROUNDED = Fraction(12, 1000)
"""How far a ratio written with two places may lie from the one that was meant."""


def ratio_of_bus(text: str) -> Fraction:
    """Clock of another bus over the processor bus clock.

    ``/3`` and ``1/3`` and ``3`` all mean a third: a divider above one divides. ``2/3`` multiplies,
    ``1/1`` and ``1`` leave the clock as it is.

    Raises:
        LeadoffError: when the text is no such ratio.
    """
    word = text.strip().replace(" ", "").replace(",", ".")
    try:
        if word.startswith("/"):
            ratio = 1 / Fraction(word[1:])
        elif word.startswith("x"):
            ratio = Fraction(word[1:])
        else:
            ratio = Fraction(word)
            if ratio > 1:
                ratio = 1 / ratio
    except (ValueError, ZeroDivisionError):
        ratio = Fraction(0)
    if not Fraction(1, 20) <= ratio <= 4:
        raise LeadoffError.one(
            "divider",
            f'"{text}" is no divider of the bus clock',
            do="write 1/3, /3, /1.5 or 2/3 (that bus over the processor bus)",
        )
    near = ratio.limit_denominator(12)
    # 0.33 is the third that somebody rounded; a ratio of small numbers stays what it is.
    return near if abs(near / ratio - 1) <= _ROUNDED else ratio.limit_denominator(1000)
