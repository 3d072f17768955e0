"""The end of a list: the best state brought to the wanted grade, or the record made sure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from leadoff.claims.grade import Grade, grade
from leadoff.forecast import scale
from leadoff.loop.history import BoardView, History, RunView
from leadoff.loop.ledger import trials_of
from leadoff.loop.moving import route
from leadoff.loop.session import Session
from leadoff.loop.steps import step
from leadoff.loop.views import moves_view
from leadoff.loop.wants import back_to
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.prices import minutes as price
from leadoff.machine.same import same_state
from leadoff.plan.worth import plan_values
from leadoff.record.runs import Workload

ASKS = {
    "none": (),
    "finishes": (),
    "repeats": ("repeat",),
    "soaked": ("repeat", "soak"),
    "copy_clean": ("repeat", "copy"),
    "soaked_copy_clean": ("repeat", "copy", "soak"),
}
"""What each grade takes, short acts first, so that a long soak is not spent on what a minute would refuse."""


def closing_steps(board: BoardView, workload: Workload, least: str) -> list[dict[str, Any]]:
    """What the best state of the list still takes for the grade; setting it again is one changeover more."""
    asks = ASKS[least]
    if not asks:
        return []
    back = step("back", "set the best that held", price("setup_visit"), "if another state is set by then")
    return [back, *(_act(board, workload, kind) for kind in asks)]


def _act(board: BoardView, workload: Workload, kind: str) -> dict[str, Any]:
    row = plan_values()
    if kind == "repeat":
        spent = 2.0 * (price("switch_on") + (workload.minutes or price("run")))
        return step("repeat", f"{workload.name} twice more, a restart before each", spent, "repeats count")
    if kind == "copy":
        log = f"`leadoff log {board.id} copy 60/60`"
        return step("copy", "sixty copies of a file, each compared", row["copy_minutes"], log)
    hours = row["soak_minutes"] / 60.0
    log = f"`leadoff log {board.id} soak {hours:g} h ok`"
    return step(
        "soak", f"soak {hours:g} h, {workload.name} in a loop, stay in the house", row["soak_minutes"], log
    )


def confirm_steps(
    session: Session,
    history: History,
    board: BoardView,
    workloads: tuple[Workload, ...],
    least: str,
    counts: Callable[[RunView], bool] | None = None,
) -> tuple[list[dict[str, Any]], str]:
    """The board's record set again, of the runs that count, and what its state lacks of the grade."""
    names = {w.name for w in workloads}
    scored = [r for r in board.runs if r.run.workload in names and scale.usable(r.run)]
    if counts is not None:
        scored = [r for r in scored if counts(r) and _grade(board, r).name != "void"]
    if not scored:
        return [], "this board has no such score yet: there is no record to make sure"
    best = min(scored, key=lambda r: scale.log_time(history.workloads[r.run.workload or ""], _value(r)))
    workload = history.workloads[best.run.workload or ""]
    reach = route(session, board, tuple(back_to(best.setup.state, board, said=f"back to {best.run.number}")))
    if not reach.reachable:
        return [], f"the state of run {best.run.number} cannot be set on this board as it stands"
    moves = moves_for(reach.changes, board.fold.sheet)
    made = _grade(board, best)
    said = f"run {best.run.number}: {_value(best):g} {workload.unit}, grade {made.name}"
    if made.name == "void":
        return [], f"{said} ({', '.join(made.void_by)}): a record that failed is not made sure by repeats"
    lacks = [k for k in ASKS[least] if not _has(made, k)]
    steps = []
    if moves:
        steps.append(
            step("back", f"back to {best.run.number}", total_minutes(moves), said, moves_view(moves))
        )
    steps += [_act(board, workload, kind) for kind in lacks]
    if not lacks:
        return [], f"{said}: nothing is lacking of {least}"
    return steps, f"{said}; at the first failure: then the record is not stable and the list is over"


def lacking(board: BoardView, workload: Workload, least: str) -> bool:
    """Whether the best state so far still lacks something of the grade."""
    scored = [r for r in board.runs if r.run.workload == workload.name and scale.usable(r.run)]
    found = {r.run.number: (r, _grade(board, r)) for r in scored}
    held = [(r, g) for r, g in found.values() if g.name != "void"]
    best = min(held, key=lambda x: scale.log_time(workload, _value(x[0])), default=None)
    return best is None or not best[1].at_least(least)


def _value(view: RunView) -> float:
    readings = scale.usable(view.run)
    return sum(r.value for r in readings) / len(readings)


def _grade(board: BoardView, best: RunView) -> Grade:
    same = {r.run.number for r in board.runs if same_state(r.setup.state, best.setup.state)}
    return grade([t for t in trials_of(board) if t.number in same])


def _has(made: Grade, kind: str) -> bool:
    if kind == "soak":
        return made.soak_hours > 0.0
    if kind == "copy":
        return made.copies is not None
    return made.name not in ("none", "finishes")
