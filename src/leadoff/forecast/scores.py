"""A run's score as one quantity."""

from __future__ import annotations

from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Run


def score_of(run: Run) -> Quantity:
    """The run's score: its one reading with the interval it was printed to, or the mean of its repeats."""
    if not run.readings:
        return Quantity(
            value=None, unit=run.unit, source=Source.UNDEFINED, why=f"it ended as: {run.outcome.value}"
        )
    values = [r.value for r in run.readings]
    return Quantity(
        value=sum(values) / len(values),
        unit=run.unit,
        source=Source.MEASURED,
        lo=min(r.lo for r in run.readings),
        hi=max(r.hi for r in run.readings),
        level=1.0,
        why="as printed"
        if len(values) == 1
        else f"mean of {len(values)} repeats; the band holds all of them",
    )


def resolution_of(run: Run) -> float | None:
    """The step to which the readings were printed."""
    if not run.readings:
        return None
    return max(r.hi - r.lo for r in run.readings)
