"""The record of one workload on one board, run by run."""

from __future__ import annotations

from collections.abc import Iterable

from leadoff.forecast.scores import score_of
from leadoff.record.pictures import RunPoint
from leadoff.record.runs import Direction, Run, Workload


def record_points(runs: Iterable[Run], workload: Workload) -> tuple[RunPoint, ...]:
    """Runs of the workload, and failures in which no workload was named, in order, with the record after each."""
    best: float | None = None
    out = []
    mine = (r for r in runs if r.workload == workload.name or (r.workload is None and not r.outcome.held))
    for order, run in enumerate(mine, start=1):
        score = score_of(run).value
        if score is not None:
            lower = workload.direction is Direction.LOWER
            best = score if best is None else (min if lower else max)(best, score)
        out.append(
            RunPoint(number=run.number, order=order, score=score, record=best, outcome=run.outcome.value)
        )
    return tuple(out)
