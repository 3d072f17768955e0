"""Scores as log time, whichever way round the workload prints them."""

from __future__ import annotations

import math

from leadoff.record.runs import Direction, Reading, Run, Workload


def sign(workload: Workload) -> float:
    """+1 where the score is a time (smaller is better), -1 where it is a rate."""
    return 1.0 if workload.direction is Direction.LOWER else -1.0


def log_time(workload: Workload, score: float) -> float:
    """Log of the time per unit of work, up to a constant of the workload."""
    return sign(workload) * math.log(score)


def score(workload: Workload, log_t: float) -> float:
    """The score of a log time; the inverse of ``log_time``."""
    return math.exp(sign(workload) * log_t)


def interval(workload: Workload, reading: Reading) -> tuple[float, float]:
    """The interval of log time that a printed score stands for.

    A lower end at or below zero (a printed ``0.0``) is taken as a hundredth of the upper one.
    """
    lo, hi = (reading.lo, reading.hi) if reading.hi > reading.lo else (reading.value, reading.value)
    lo = max(lo, 0.01 * hi)
    ends = (log_time(workload, lo), log_time(workload, hi))
    return min(ends), max(ends)


def usable(run: Run) -> tuple[Reading, ...]:
    """Readings that say how fast a state is: of a run that finished, positive."""
    return tuple(r for r in run.readings if r.value > 0.0 and r.hi > 0.0) if run.outcome.held else ()
