"""Values for pictures of one board."""

from __future__ import annotations

from leadoff.forecast.record_line import record_points
from leadoff.forecast.scores import score_of
from leadoff.loop.history import BoardView, History
from leadoff.machine.same import same_state
from leadoff.record.pictures import RunPoint, SealedBand


def record_of(history: History, board: BoardView, workload: str) -> tuple[RunPoint, ...]:
    """The record line of a workload on a board."""
    return record_points((r.run for r in board.runs), history.workloads[workload])


def sealed_bands(board: BoardView) -> tuple[SealedBand, ...]:
    """Every sealed forecast of the board with what came of it."""
    out = []
    for sealed in board.forecasts:
        for e in sealed.body.expected:
            if e.median is None or e.band50 is None or e.band90 is None:
                continue
            answers = [
                r.run
                for r in board.runs
                if r.run.workload == e.workload
                and r.run.readings
                and r.when >= sealed.when
                and same_state(r.setup.state, sealed.body.state)
            ]
            out.append(
                SealedBand(
                    label=f"{sealed.body.number} {e.workload}",
                    median=e.median,
                    band50=e.band50,
                    band90=e.band90,
                    outcome=score_of(answers[0]).value if answers else None,
                    unit=e.unit,
                )
            )
    return tuple(out)
