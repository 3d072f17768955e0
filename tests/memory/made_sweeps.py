"""Sweeps generated with known levels: sizes missing, slopes after each level, 3 % of noise."""

from __future__ import annotations

import numpy as np

from leadoff.memory.sweep import Point, Sweep, SweepKind


def made_sweep(draw: np.random.Generator, noise: float = 0.03) -> tuple[list[float], Sweep]:
    """True cache sizes in KB, and the sweep. Steps of at least 30 %; one point in ten is missing."""
    l1 = float(draw.choice([1, 8, 16, 32]))
    l2 = float(draw.choice([0, 64, 128, 256, 512, 1024]))
    times = [float(draw.uniform(5, 14))]
    sizes = [l1]
    if l2:
        times.append(times[-1] * float(draw.uniform(1.3, 3.5)))
        sizes.append(l2)
    times.append(times[-1] * float(draw.uniform(1.3, 3.0)))
    x, tried = (0.5 if l1 == 1 else 1.0), []
    halves = draw.random() < 0.5
    while x <= max(4096.0, 4 * (l2 or l1)):
        tried.append(x)
        if halves and x >= 2:
            tried.append(1.5 * x)
        x *= 2
    # The sizes on both sides of a step stay, or the level cannot be known.
    kept = [x for x in tried if draw.random() > 0.1 or any(x in (s / 2, s, 2 * s) for s in sizes)]
    points = []
    for x in kept:
        y = times[0]
        for k, s in enumerate(sizes):
            ways = (4, 1)[k]
            missing = 0.0 if x <= s else min(1.0, (ways + 1) * (x - s) / x)
            y += (times[k + 1] - times[k]) * missing
        points.append(Point(size_kb=x, us_per_kb=y * float(np.exp(noise * draw.normal()))))
    return sizes, Sweep(kind=SweepKind.READ, points=tuple(points))
