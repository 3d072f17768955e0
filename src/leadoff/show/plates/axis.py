"""Axes: a value to a pixel, and ticks at round numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from leadoff.show.plates.surface import GRID, QUIET, Surface


class Scale(msgspec.Struct, frozen=True, kw_only=True):
    """From values ``lo`` to ``hi`` to pixels ``a`` to ``b``; ``log`` for a logarithmic one."""

    lo: float
    hi: float
    a: float
    b: float
    log: bool = False

    def __call__(self, value: float) -> float:
        if self.log:
            share = math.log(value / self.lo) / math.log(self.hi / self.lo)
        else:
            share = (value - self.lo) / (self.hi - self.lo)
        return self.a + (self.b - self.a) * share


def room(values: Sequence[float], *, part: float = 0.06, zero: bool = False) -> tuple[float, float]:
    """The range of values with a little room; never empty."""
    lo, hi = min(values), max(values)
    if zero:
        lo = min(0.0, lo)
    wide = hi - lo or abs(hi) * 0.1 or 1.0
    return (lo if zero and lo == 0 else lo - part * wide), hi + part * wide


def ticks(lo: float, hi: float, most: int) -> list[float]:
    """Round numbers between ``lo`` and ``hi``, at most ``most`` of them where that can be."""
    raw = (hi - lo) / max(1, most)
    power = 10 ** math.floor(math.log10(raw))
    step = next(power * m for m in (1, 2, 2.5, 5, 10) if power * m >= raw * 0.999)
    first = math.ceil(lo / step - 1e-9)
    return [n * step for n in range(first, math.floor(hi / step + 1e-9) + 1)]


def plain(value: float) -> str:
    """A tick's number without noise."""
    return f"{value:.6g}"


def left_axis(on: Surface, scale: Scale, x1: float, x2: float, title: str, *, most: int = 5) -> None:
    """Grid lines across with their numbers at the left, the unit above them."""
    s = on.size.letter
    for value in ticks(scale.lo, scale.hi, most):
        y = scale(value)
        on.line(x1, y, x2, y, stroke=GRID)
        on.text(x1 - 0.5 * s, y + 0.34 * s, plain(value), letter=0.9, fill=QUIET, anchor="end")
    on.text(x1 - 0.5 * s, scale.b - 0.9 * s, title, letter=0.9, fill=QUIET, anchor="start")


def foot_axis(
    on: Surface, scale: Scale, y1: float, y2: float, title: str, values: Sequence[float], *, grid: bool = True
) -> None:
    """Numbers below the picture and the title under them."""
    s = on.size.letter
    for value in values:
        x = scale(value)
        if grid:
            on.line(x, y1, x, y2, stroke=GRID)
        on.text(x, y2 + 1.3 * s, plain(value), letter=0.9, fill=QUIET, anchor="middle")
    on.text((scale.a + scale.b) / 2, y2 + 2.6 * s, title, letter=0.9, fill=QUIET, anchor="middle")
