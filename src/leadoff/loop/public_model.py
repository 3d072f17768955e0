"""What the score model says for a public file: where the time goes in the state shown, what each workload will do."""

from __future__ import annotations

import msgspec

from leadoff.forecast.answer import Forecast
from leadoff.forecast.split import Part
from leadoff.loop.history import BoardView, History, RunView
from leadoff.loop.session import Session
from leadoff.machine.same import same_state
from leadoff.record.public import TimeShare

KEPT_DIGITS = 5
"""Digits of model figures that go out: further ones differ between machines and mean nothing."""
_MS = {"frames/s": lambda score: 1000.0 / score, "s": lambda score: 1000.0 * score, "ms": lambda score: score}
"""Milliseconds of one unit of work by the unit of its score."""


class Modelled(msgspec.Struct, frozen=True, kw_only=True):
    """Forecasts of the board as set and in the state shown; ``None`` where the book has no workload."""

    now: Forecast | None
    shown: Forecast | None


def modelled(session: Session, history: History, board: BoardView, at: RunView | None) -> Modelled:
    """One fit for both states. ``at``: a run of the state shown; without one only the present state is told."""
    from leadoff.forecast.predict import forecast_many

    if not history.workloads:
        return Modelled(now=None, shown=None)
    apart = at is not None and not same_state(at.setup.state, board.setup.state)
    setups = [board.setup, *([at.setup] if apart and at is not None else [])]
    workloads = tuple(w for _, w in sorted(history.workloads.items()))
    made = forecast_many(setups, workloads, history.all_runs(), cache_dir=session.cache)
    return Modelled(now=made[0], shown=made[-1] if at is not None else None)


def time_shares(
    found: Modelled, workload: str | None, unit: str, score: float | None
) -> tuple[TimeShare, ...]:
    """Parts of the time of the score shown; empty where the model has nothing of it."""
    if found.shown is None or workload is None:
        return ()
    parts = found.shown.time_split.get(workload, ())
    whole = _MS[unit](score) if unit in _MS and score else None
    return tuple(_share(p, whole) for p in parts)


def _share(p: Part, whole_ms: float | None) -> TimeShare:
    share = p.pct / 100.0
    return TimeShare(
        name=p.part,
        share=rounded(share),
        ms=None if whole_ms is None else rounded(share * whole_ms),
        lo=rounded(p.lo / 100.0),
        hi=rounded(p.hi / 100.0),
    )


def rounded(value: float) -> float:
    """To ``KEPT_DIGITS`` digits."""
    return float(f"{value:.{KEPT_DIGITS}g}")
