"""Runs just logged against the forecasts that were sealed for their states."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from leadoff.forecast.scores import score_of
from leadoff.loop.history import BoardView, RunView
from leadoff.loop.session import Session
from leadoff.machine.same import differing, same_state
from leadoff.record.entries import Expected
from leadoff.record.marks import Level, Mark
from leadoff.record.results import mark, note


def answered(
    session: Session, board: BoardView, runs: Sequence[RunView]
) -> tuple[list[dict[str, Any]], list[Mark]]:
    """What was forecast for each run, in the order of the runs, and what must be said of it.

    ``board`` is the board before these runs. A run whose state has no sealed forecast gives none.
    """
    found, marks = [], []
    for view in runs:
        fitting = [f for f in board.forecasts if same_state(f.body.state, view.setup.state)]
        if fitting:
            last = fitting[-1]
            expected = next((e for e in last.body.expected if e.workload == view.run.workload), None)
            data = _held_against(expected, score_of(view.run).value)
            found.append(
                {
                    "run": view.run.number,
                    "workload": view.run.workload,
                    "entry": last.entry,
                    "number": last.body.number,
                    "sealed_before": session.book.is_before(last.entry, view.entry),
                    **data,
                }
            )
            if data["in90"] is False and expected is not None:
                marks.append(_surprise(view, expected))
    if runs and not found:
        marks += _other_state(session, board, runs[-1])
    return found, marks


def _held_against(expected: Expected | None, score: float | None) -> dict[str, Any]:
    in50 = in90 = None
    if expected is not None and score is not None and expected.band50 and expected.band90:
        in50, in90 = (lo <= score <= hi for lo, hi in (expected.band50, expected.band90))
    return {"median": expected.median if expected is not None else None, "in50": in50, "in90": in90}


def _other_state(session: Session, board: BoardView, view: RunView) -> list[Mark]:
    """That the newest forecast was for another state; told once, by the first run after it."""
    last = board.forecasts[-1] if board.forecasts else None
    if last is None or not last.body.expected:
        return []
    if board.runs and session.book.is_before(last.entry, board.runs[-1].entry):
        return []
    names = differing(last.body.state, view.setup.state)[:4]
    differ = "differs" if len(names) == 1 else "differ"
    text = f"forecast {last.body.number} was for another state ({', '.join(names)} {differ}): not scored"
    return [note("forecast_other_state", text)]


def _surprise(view: RunView, expected: Expected) -> Mark:
    assert expected.band90 is not None
    lo, hi = expected.band90
    return mark(
        Level.AMBER,
        "outside_band",
        f"run {view.run.number}: {score_of(view.run).value or 0.0:.4g} {expected.unit} lies outside the sealed 90 % "
        f"band {lo:.4g} to {hi:.4g}: look for a setting that is not as declared before looking for a cause",
    )
