"""Steps of a list that are no runs of a new state: a cause to be told, symptoms to look for again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from leadoff.loop.forecasting import explained
from leadoff.loop.history import BoardView, History, RunView
from leadoff.loop.judging import judged, reds, warnings
from leadoff.loop.moving import route
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.loop.views import moves_view
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.prices import minutes as price
from leadoff.machine.reach import Want
from leadoff.machine.same import same_state
from leadoff.plan.worth import plan_values
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Workload
from leadoff.record.settings import in_words


def step(
    kind: str,
    what: str,
    minutes: float,
    why: str = "",
    moves: Sequence[Any] = (),
    cautions: Sequence[str] = (),
) -> dict[str, Any]:
    """A step with no forecast of its own."""
    return {
        "kind": kind,
        "what": what,
        "moves": list(moves),
        "minutes": minutes,
        "chance_hold": Quantity(value=None, unit="1", source=Source.UNDEFINED, why="no new state is run"),
        "predicted": None,
        "gain_pct": 0.0,
        "worth_per_minute": 0.0,
        "why": why,
        "cautions": list(cautions),
        "settings": {},
        "if_fails": "",
        "if_holds": "",
    }


def timed(steps: Sequence[dict[str, Any]], minutes: float | None) -> list[dict[str, Any]]:
    """Numbered, with the minute each begins; what does not fit into ``minutes`` is left off."""
    out: list[dict[str, Any]] = []
    at = 0.0
    for made in steps:
        if minutes is not None and at + made["minutes"] > minutes and out:
            break
        out.append({"n": len(out) + 1, "at_minute": at, **made})
        at += made["minutes"]
    return out


def symptom_steps(board: BoardView) -> list[dict[str, Any]]:
    """Each open symptom once, in the order they came, in the state as set: no changeover between them."""
    spent = plan_values()["check_minutes"]
    out = []
    for s in board.open_symptoms:
        detail = f" ({s.detail})" if s.detail and s.detail != s.finding else ""
        why = f'open since {s.when[:10]}; gone: `leadoff log {board.id} "{s.finding} gone"`'
        out.append(step("check", f"look for it again: {s.finding}{detail}", spent, why))
    return out


def cause_steps(
    session: Session, history: History, board: BoardView, workloads: tuple[Workload, ...]
) -> tuple[list[dict[str, Any]], str]:
    """The run that parts what the last difference of this board leaves together."""
    pair = _last_difference(board, {w.name for w in workloads})
    if pair is None:
        return [], "this board has no two scores of one workload in different states: nothing to explain yet"
    a, b = pair
    assert a.run.workload is not None, "both have a score"
    workload = history.workloads[a.run.workload]
    found = explained(session, history, a, b, workload)
    said = f"run {a.run.number} to run {b.run.number}"
    if found.cheapest_run is None:
        return (
            [],
            f"{said}: no run would tell more than `leadoff why {a.run.number} {b.run.number}` tells now",
        )
    wants = tuple(Want(name=n, value=v) for n, v in sorted(found.cheapest_run.settings.items()))
    reach = route(session, board, wants)
    if not reach.reachable:
        return [], f"{said}: the run that would part the causes cannot be set on this board"
    fold = BoardFold(sheet=board.fold.sheet, said=after(board.fold, reach.changes, session.at))
    lines = judged(session, make_setup(fold, PartFinder(session), board.base))
    if against := reds(lines):
        what = ", ".join(f"{in_words(w.name)} {w.value}" for w in wants)
        return [], f"{said}: only {what} would part the causes, and that is unsafe ({against[0]})"
    moves = moves_for(reach.changes, board.fold.sheet)
    spent = workload.minutes or price("run")
    groups = "; ".join(" and ".join(in_words(f) for f in g.factors) for g in found.cannot_tell)
    steps = [
        step(
            "run",
            f"{workload.name}, once more with one cause taken back",
            total_minutes(moves) + spent,
            f"{said}: cannot be told apart yet: {groups}. {found.cheapest_run.why}",
            moves_view(moves),
            [m.text for m in warnings(lines)],
        ),
        step("repeat", f"{workload.name} again after a restart", price("switch_on") + spent, "one more boot"),
    ]
    return steps, f"when `leadoff why {a.run.number} {b.run.number}` parts them"


def _last_difference(board: BoardView, names: set[str]) -> tuple[RunView, RunView] | None:
    """The latest score and the one before it in another state, of one workload."""
    scored = [r for r in board.runs if r.run.readings and r.run.workload in names]
    for n in range(len(scored) - 1, 0, -1):
        b = scored[n]
        for a in reversed(scored[:n]):
            if a.run.workload == b.run.workload and not same_state(a.setup.state, b.setup.state):
                return a, b
    return None
