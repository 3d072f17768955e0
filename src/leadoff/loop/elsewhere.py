"""What an hour on another board of the book is worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from leadoff.forecast.facts import Setup
from leadoff.forecast.fit import Fit
from leadoff.loop.history import BoardView, History
from leadoff.loop.judging import judged, reds
from leadoff.loop.planning import Found, candidates, most_run, ranked
from leadoff.loop.session import Session
from leadoff.machine.moves import total_minutes
from leadoff.machine.prices import minutes as price
from leadoff.record.runs import Workload

GLANCED = 16
"""States of each other board in the first look: one change, and the first of two."""

STATES = 40
"""States of the board that the first look puts on top."""

HOUR = 60.0


def elsewhere(
    session: Session, history: History, board: BoardView, workloads: tuple[Workload, ...]
) -> dict[str, Any] | None:
    """The other board that is worth most in its first hour, putting it on the bench included; ``None`` if none is.

    All boards of the book are looked at by the fit as it stands; the best of them, and the next where that one turns
    out to bring nothing, is ranked as if it lay on the bench.
    """
    looked = sorted(_glances(session, history, board, workloads), key=lambda x: (-x[0], x[1].id))
    for _, other in looked[:2]:
        if (gain := _hour(session, history, other)) > 0.0:
            return {"board": other.id, "pct_per_hour": gain, "boards_looked_at": len(looked)}
    return None


def _hour(session: Session, history: History, other: BoardView) -> float:
    """Percent of score of a board's first hour."""
    from leadoff.plan.now import now as rank
    from leadoff.plan.worth import plan_values

    plan = rank(
        ranked(candidates(session, other, most=STATES)),
        history.all_runs(),
        most_run(other, tuple(history.workloads.values())),
        limit=2,
        readings=False,
        cache_dir=session.cache,
        judge=lambda setup: reds(judged(session, setup)),
    )
    spent, gain = plan_values()["other_board_minutes"], 0.0
    for act in plan.acts:
        if act.kind == "run" and not act.red and spent + act.minutes <= HOUR:
            spent += act.minutes
            gain = max(gain, act.worth_per_minute * act.minutes)
    return gain


def _glances(
    session: Session, history: History, board: BoardView, workloads: tuple[Workload, ...]
) -> list[tuple[float, BoardView]]:
    """Every other board that may bring something, with what its best state in reach brings on average."""
    from leadoff.forecast.store import fit_of

    fit = fit_of(workloads, history.all_runs(), session.cache)
    out = []
    for other in history.boards.values():
        if other.id == board.id or not any(r.run.readings for r in other.runs):
            continue
        for workload in most_run(other, tuple(history.workloads.values())):
            known = fit if workload in workloads else None
            if (worth := _glance(session, other, workload, known)) > 0.0:
                out.append((worth, other))
    return out


def _glance(session: Session, other: BoardView, workload: Workload, fit: Fit | None) -> float:
    """What the best state in reach of one board brings on average, in percent."""
    from leadoff.forecast.hold import belief
    from leadoff.plan.records import record_states
    from leadoff.plan.worth import expected_gain, plan_values, steady_attempts

    own = tuple(r.observed() for r in other.runs)
    record = record_states(other.id, (workload,), own).get(workload.name)
    if record is None:
        return 0.0
    row = plan_values()
    room = HOUR - row["other_board_minutes"] - (workload.minutes or price("run"))
    found = [f for f in candidates(session, other, most=GLANCED).values() if total_minutes(f.moves) <= room]
    known, steady = belief(other.setup, own), steady_attempts()
    hopes = [
        (expected_gain(gain, None) * (known.chance(f.setup, steady) or 0.0), n)
        for n, (gain, f) in enumerate(zip(_gains(fit, workload, record.setup, found), found, strict=True))
    ]
    for hope, n in sorted(hopes, reverse=True):
        if not reds(judged(session, found[n].setup)):
            return hope
    return 0.0


def _gains(fit: Fit | None, workload: Workload, record: Setup, found: Sequence[Found]) -> list[float]:
    """Gains in percent over the record: by the fit of the book where it has the workload, else by clocks alone."""
    from leadoff.forecast.ranking import glance_log_times

    setups = [record, *(f.setup for f in found)]
    if fit is not None and all(s.clock("core_mhz") and s.clock("bus_mhz") for s in setups):
        told = glance_log_times(fit, workload, setups)
        return [100.0 * float(told[0] - t) for t in told[1:]]
    return [50.0 * (_ratio(f.setup, record, "core_mhz") + _ratio(f.setup, record, "bus_mhz")) for f in found]


def _ratio(a: Setup, b: Setup, clock: str) -> float:
    one, two = a.clock(clock), b.clock(clock)
    return math.log(one / two) if one and two else 0.0
