"""A state that cannot be set: every cause, the nearest that can, never a move."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from leadoff.loop.history import BoardView
from leadoff.loop.judging import judged
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.nearest import Nearest, nearest
from leadoff.machine.reach import Cause, Reach, Want
from leadoff.record.errors import Problem
from leadoff.record.moves import Change
from leadoff.record.results import Result
from leadoff.safety.judge import beyond


def refused(
    session: Session,
    verb: str,
    board: BoardView,
    wants: tuple[Want, ...],
    way: Reach,
    data: Mapping[str, Any],
    more: tuple[Cause, ...] = (),
) -> Result:
    """The result of asking for what the wiring cannot do."""
    causes = (*way.causes, *more)
    near = nearest_of(session, board, wants)
    best = near[0] if near else None
    do = f"nearest: {said_short(best)}" if best is not None else "nothing on the sheet comes near it"
    return session.result(
        verb,
        {
            **data,
            "after": None,
            "moves": [],
            "causes": [{"code": c.code, "text": c.text} for c in causes],
            "nearest": [nearest_view(n, outside(session, board, n, wants)) for n in near],
        },
        errors=[Problem(code=c.code, text=f"cannot be set: {c.text}", where=board.id, do=do) for c in causes],
    )


def nearest_of(session: Session, board: BoardView, wants: tuple[Want, ...]) -> tuple[Nearest, ...]:
    """Reachable alternatives to what was asked."""
    setup = board.setup
    cpu = next((w.value for w in wants if w.name == "cpu"), None) or setup.state.value("cpu")
    ratio = setup.state.value("ratio")
    return nearest(
        board.fold,
        wants,
        part=PartFinder(session)(cpu),
        base=board.base,
        bus_now=setup.clocks.get("bus_mhz"),
        ratio_now=Fraction(ratio) if ratio is not None else None,
    )


def nearest_view(n: Nearest, beyond_limits: list[dict[str, object]]) -> dict[str, Any]:
    """An alternative as the contract prints it."""
    return {
        "settings": dict(n.settings),
        "clocks": {"core_mhz": _float(n.core_mhz), "bus_mhz": _float(n.bus_mhz)},
        "beyond": beyond_limits,
        "how": n.how,
        "same_part": n.same_part,
    }


def outside(
    session: Session, board: BoardView, n: Nearest, wants: tuple[Want, ...]
) -> list[dict[str, object]]:
    """What an alternative would run beyond its limits, with the part asked for; nothing for a part not named."""
    if not n.same_part:
        return []
    cpu = next((w.value for w in wants if w.name == "cpu" and w.value is not None), None)
    fitted = {**n.settings, **({"cpu": cpu} if cpu is not None else {})}
    changes = tuple(Change(name=k, before=None, after=v) for k, v in fitted.items())
    fold = BoardFold(sheet=board.fold.sheet, said=after(board.fold, changes, session.at))
    return beyond(judged(session, make_setup(fold, PartFinder(session), board.base)))


def said_short(n: Nearest) -> str:
    """An alternative in one line."""
    if n.core_mhz is None or n.bus_mhz is None or n.ratio is None:
        return n.how
    return f"{float(n.ratio):g} x {float(n.bus_mhz):.4g} = {float(n.core_mhz):.4g} MHz {n.how}"


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)
