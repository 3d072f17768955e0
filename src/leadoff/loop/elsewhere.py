"""What an hour on another board of the book is worth."""

from __future__ import annotations

from typing import Any

from leadoff.loop.history import BoardView, History
from leadoff.loop.judging import judged, reds
from leadoff.loop.planning import candidates, most_run, ranked
from leadoff.loop.session import Session

BOARDS = 2
"""Other boards looked at, those last on the bench: each costs a ranking of its own."""

STATES = 40
"""States looked at on each: one or two changes."""


def elsewhere(session: Session, history: History, board: BoardView) -> dict[str, Any] | None:
    """The other board that is worth most in its first hour, putting it on the bench included; ``None`` if none is."""
    from leadoff.plan.now import now as rank
    from leadoff.plan.worth import plan_values

    others = [b for b in history.boards.values() if b.id != board.id and any(r.run.readings for r in b.runs)]
    others.sort(key=lambda b: max(r.when for r in b.runs), reverse=True)
    best: dict[str, Any] | None = None
    for other in others[:BOARDS]:
        workloads = most_run(other, tuple(history.workloads.values()))
        plan = rank(
            ranked(candidates(session, other, most=STATES)),
            history.all_runs(),
            workloads,
            limit=2,
            readings=False,
            cache_dir=session.cache,
            judge=lambda setup: reds(judged(session, setup)),
        )
        spent, gain = plan_values()["other_board_minutes"], 0.0
        for act in plan.acts:
            if act.kind == "run" and not act.red and spent + act.minutes <= 60.0:
                spent += act.minutes
                gain = max(gain, act.worth_per_minute * act.minutes)
        if gain > 0.0 and (best is None or gain > best["pct_per_hour"]):
            best = {"board": other.id, "pct_per_hour": gain}
    return best
