"""Clocks and ratios as exact fractions: 33 on a sheet means 100/3 megahertz, a counter's 33.3 means 33.3."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from leadoff.record.errors import LeadoffError
from leadoff.words.numbers import Number, number
from leadoff.words.rows import rows

_FRACTION = re.compile(r"(?:(\d{1,9})\+)?(\d{1,9})\s*/\s*(\d{1,9})", re.A)
_RATIO_THIRDS = frozenset((33, 34, 66, 67))


def fraction(text: str) -> Fraction:
    """``100/3``, ``33.33``, ``2,5``, ``2.5x``, ``x5/2``, ``2+1/2`` as an exact fraction, as typed.

    Raises LeadoffError ``not_a_number`` and for a zero below the line ``zero_denominator``.
    """
    bare = text.strip().lower().removeprefix("x").removesuffix("x").strip()
    found = _FRACTION.fullmatch(bare)
    if found is None:
        return number(bare, comma="decimal").exact
    whole, above, below = found.groups()
    if int(below) == 0:
        raise LeadoffError.one(
            "zero_denominator", f"{text.strip()} divides by zero", where=text, do="type it as 100/3"
        )
    return Fraction(int(whole or 0)) + Fraction(int(above), int(below))


def ratio(text: str) -> Fraction:
    """A ratio of clocks: as ``fraction``, and two printed places of a third are that third (2.33 is 7/3)."""
    value = fraction(text)
    hundredths = value * 100
    if hundredths.denominator == 1 and hundredths.numerator % 100 in _RATIO_THIRDS:
        third = Fraction(round(value * 3), 3)
        if abs(third - value) < Fraction(1, 100):
            return third
    return value


def clock_mhz(text: str, role: str = "bus", *, measured: bool = False) -> Fraction:
    """A clock in MHz. ``role`` is bus, can, core, pci, isa, agp or mem, and picks the nominal clocks.

    Nominal clocks that are rounded or cut in print are exact: 33, 33.3 and 33.33 are 100/3, 66.7 is 200/3,
    8.33 of an ISA bus is 25/3. Others (33.5, 37.5, 40, 62.5, 124) are exactly what was typed, and so is
    everything that was measured. Raises LeadoffError for what is no number.
    """
    bare = text.strip()
    if "/" in bare or measured:
        return fraction(bare)
    typed = number(bare, comma="decimal")
    return nominal(typed, role)


def nominal(typed: Number, role: str) -> Fraction:
    """The nominal clock that a typed figure is the short form of, or the figure itself."""
    exact, whole = _table(role)
    if typed.step == 1:
        return whole.get(int(typed.exact), typed.exact)
    for candidate in exact:
        steps = candidate / typed.step
        cut = steps.numerator // steps.denominator
        if typed.exact / typed.step in (cut, cut + (2 * (steps - cut) >= 1)):
            return candidate
    return typed.exact


@cache
def _table(role: str) -> tuple[tuple[Fraction, ...], dict[int, Fraction]]:
    table = rows("clocks").get("pci" if role == "agp" else role)
    if table is None:
        raise ValueError(f"no table of nominal clocks for {role!r}")
    whole = {int(k): Fraction(v) for k, v in table["whole"].items()}
    return tuple(Fraction(v) for v in table["exact"]), whole


def clock_text(value: Fraction, role: str = "bus") -> str:
    """The short text that reads back as the same clock: ``33.33``, ``66.8``, else the fraction itself."""
    for places in (0, 1, 2, 3, 4):
        printed = f"{float(value):.{places}f}"
        if (Fraction(printed) == value or places == 2) and clock_mhz(printed, role) == value:
            return printed
    return str(value)
