"""Damped Newton steps to a maximum, for many alternatives side by side: the one solver of the forecast."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.rows import group

Arr = NDArray[np.float64]

_ENOUGH = group("noise", "search")["gains"]


class Look(NamedTuple):
    """What is seen from a point: the value of each alternative, the full step, and the gain it promises."""

    value: Arr
    step: Arr
    promise: Arr


def climb(
    z: Arr,
    look: Callable[[Arr], Look],
    value_at: Callable[[Arr], Arr],
    *,
    steps: int,
    tolerance: float,
    longest: float = 3.0,
) -> Arr:
    """Points (alternatives, parameters) from which no full step promises more than ``tolerance``.

    Each alternative takes the longest of a few halvings that gains enough of what it promises; a step is cut to
    ``longest`` in its largest part, beyond which the exponentials of the terms overflow before the search
    can shrink it. ``value_at`` may hold what ``look`` renewed at the last point.
    """
    for _ in range(steps):
        seen = look(z)
        open_ = seen.promise > tolerance
        if not open_.any():
            break
        size = np.abs(seen.step).max(axis=1, initial=0.0)
        length = np.minimum(1.0, longest / np.maximum(size, 1e-300))
        out = z
        moved = False
        for _ in range(10):
            trial = z + length[:, None] * seen.step
            least = _ENOUGH * length * seen.promise - 1e-12 * (1.0 + np.abs(seen.value))
            good = open_ & (value_at(trial) >= seen.value + least)
            out = np.where(good[:, None], trial, out)
            moved = moved or bool(good.any())
            open_ = open_ & ~good
            if not open_.any():
                break
            length = np.where(open_, 0.5 * length, length)
        if not moved:
            break
        z = out
    return z
