"""Oscillator and bus clock: boards whose clock input runs at a multiple of the bus clock."""

from __future__ import annotations

from fractions import Fraction

from leadoff.record.board import BoardSheet
from leadoff.record.quantity import Source
from leadoff.record.state import Setting

_HALVES = ("286", "386", "80286", "80386")
"""Classes whose processors halve their clock input (source: the 386 DX and SX data sheets, input CLK2)."""


def can_divisor(sheet: BoardSheet) -> int | None:
    """By how much the board divides its oscillator: what the sheet says, else two on 286 and 386 boards."""
    if sheet.can_divides_by is not None:
        return sheet.can_divides_by
    return 2 if sheet.board_class.startswith(_HALVES) else None


def bus_from_can(settings: dict[str, Setting], sheet: BoardSheet) -> None:
    """The bus clock that follows from a known oscillator, where nothing else says it."""
    by = can_divisor(sheet)
    can, bus = settings.get("can_mhz"), settings.get("bus_mhz")
    if by is None or can is None or can.value is None or (bus is not None and bus.value is not None):
        return
    settings["bus_mhz"] = Setting(
        value=str(Fraction(can.value) / by),
        status=can.status,
        source=Source.COMPUTED,
        why=f"the oscillator divided by {by}",
    )
