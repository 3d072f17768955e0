"""Straightens a grid once most of its signs are read: where their edges should lie against where they do."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leadoff.evidence.screens.values import Axis, Grid

F64 = NDArray[np.float64]

WINDOW_CELLS = 8
REACH_DOTS = 1.5


def expected(raster: NDArray[np.float32]) -> tuple[F64, F64]:
    """Edge profiles across and down of a raster of dots, an entry for each dot edge."""
    across = np.abs(np.diff(raster, axis=1, prepend=raster[:, :1], append=raster[:, -1:])).sum(axis=0)
    down = np.abs(np.diff(raster, axis=0, prepend=raster[:1], append=raster[-1:])).sum(axis=1)
    return across.astype(np.float64), down.astype(np.float64)


def straighten(axis: Axis, measured: F64, wanted: F64) -> Axis:
    """The axis moved and stretched so that expected edges fall on measured ones.

    ``measured`` has the change between pixel n and n + 1 at n; ``wanted`` one entry for each dot edge. Windows of
    the axis vote for their shift with the strength of their edges; a straight line through the votes is taken.
    """
    dot = axis.pitch / axis.dots
    shifts = np.arange(-REACH_DOTS, REACH_DOTS + 0.01, 0.1)
    places, votes, weights = [], [], []
    span = WINDOW_CELLS * axis.dots
    ground = np.concatenate([[0.0], measured, [0.0]])
    soft = np.convolve(ground, [0.25, 0.5, 0.25], mode="same")
    for begin in range(0, len(wanted) - span // 2, span):
        edges = np.arange(begin, min(begin + span + 1, len(wanted)))
        power = wanted[edges] - wanted[edges].mean()
        strength = float(np.abs(power).sum())
        if strength <= 0:
            continue
        at = axis.start + edges * dot
        grid = at[None, :] + shifts[:, None] * dot
        taken = np.interp(grid.ravel(), np.arange(len(soft)), soft).reshape(grid.shape)
        score = taken @ power
        top = int(score.argmax())
        if not 0 < top < len(shifts) - 1:
            continue
        a, b, c = score[top - 1 : top + 2]
        bend = a - 2 * b + c
        offset = 0.5 * (a - c) / bend if bend < 0 else 0.0
        places.append(float(edges.mean()))
        votes.append(float(shifts[top] + 0.1 * offset))
        weights.append(strength)
    if not votes:
        return axis
    x, y, w = np.array(places), np.array(votes), np.sqrt(np.array(weights))
    keep = np.abs(y - np.median(y)) < 0.6
    if keep.sum() >= 3 and np.ptp(x[keep]) > 2 * span:
        slope, level = np.polyfit(x[keep], y[keep], 1, w=w[keep])
    else:
        slope, level = 0.0, float(np.average(y, weights=w))
    if abs(slope) * len(wanted) > 2.5 or abs(level) > REACH_DOTS:
        return axis
    start = axis.start + level * dot
    pitch = axis.pitch * (1 + slope)
    return Axis(start=float(start), pitch=float(pitch), cells=axis.cells, dots=axis.dots)


def refined(grid: Grid, across: F64, down: F64, raster: NDArray[np.float32]) -> Grid:
    """Both axes straightened."""
    x, y = expected(raster)
    return Grid(x=straighten(grid.x, across, x), y=straighten(grid.y, down, y), way=grid.way)
