"""Bandwidth sweeps: read from text, cut into levels, set against the sheet, handed to the forecast."""

from __future__ import annotations

import msgspec

from leadoff.memory.sweep_compare import compare_sweep
from leadoff.memory.sweep_levels import read_sweep
from leadoff.memory.sweep_text import parse_sweep, parse_sweeps
from leadoff.memory.sweep_values import (
    Declared,
    Dispute,
    Hypothesis,
    Point,
    Sweep,
    SweepKind,
    SweepLevel,
    SweepReading,
)


class FillBounds(msgspec.Struct, frozen=True, kw_only=True):
    """Bounds in bus clocks for a line from the second level and from memory; ``None``: the sweep does not say."""

    l2_read_clocks: tuple[float, float] | None = None
    dram_read_clocks: tuple[float, float] | None = None


def fill_bounds(reading: SweepReading) -> FillBounds:
    """What a read or copy sweep lets the forecast narrow. With a single cache seen it is the first level's."""
    bounds = [
        (f.lo, f.hi)
        for level in reading.levels
        if (f := level.fill_bus_clocks).lo is not None and f.hi is not None
    ]
    memory = bounds[-1] if bounds else None
    second = bounds[0] if len(bounds) > 1 else None
    return FillBounds(l2_read_clocks=second, dram_read_clocks=memory)


__all__ = [
    "Declared",
    "Dispute",
    "FillBounds",
    "Hypothesis",
    "Point",
    "Sweep",
    "SweepKind",
    "SweepLevel",
    "SweepReading",
    "compare_sweep",
    "fill_bounds",
    "parse_sweep",
    "parse_sweeps",
    "read_sweep",
]
