"""Values that the pages' pictures are drawn from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import msgspec

from leadoff.loop.benching import main_workload
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.pictures import record_of, sealed_bands
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result


class Asked(NamedTuple):
    """What an address asks for beyond the picture's name."""

    want: str | None = None
    workload: str | None = None


def drawing(
    session: Session, name: str, picture: str, want: str | None = None, workload: str | None = None
) -> dict[str, Any]:
    """What one picture of a board shows.

    Raises:
        LeadoffError: a picture nobody draws, or one that this board has nothing for.
    """
    draw = PICTURES.get(picture)
    if draw is None:
        raise LeadoffError.one(
            "picture_unknown",
            f'there is no picture "{picture[:40]}"',
            where=picture[:40],
            do=f"one of {', '.join(PICTURES)}",
        )
    history = read_history(session)
    board = history.board(name)
    return {"board": board.id, "head": session.head() or ""} | draw(
        session, history, board, Asked(want, workload)
    )


def pictures_of(board: BoardView) -> list[str]:
    """The pictures that this board has something for, as far as that is known without drawing them."""
    there = {
        "record": main_workload(board) is not None,
        "forecasts": bool(sealed_bands(board)),
        "timeline": True,
        "jumpers": bool(board.fold.sheet.jumpers),
    }
    return [name for name, has in there.items() if has]


def _record(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    workload = asked.workload if asked.workload in history.workloads else main_workload(board)
    if workload is None:
        raise _nothing(board, "no run has a score yet")
    unit = history.workloads[workload].unit
    return {"workload": workload, "unit": unit, "points": record_of(history, board, workload)}


def _forecasts(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    bands = sealed_bands(board)
    if not bands:
        raise _nothing(board, "no forecast is sealed yet")
    return {"bands": bands[-24:]}


def _sweep(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.sweeping import sweep

    data = sweep(session, board.id).data
    return {"points": data["points"], "levels": data["levels"], "kind": data["kind"]}


def _slack(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.carding import card

    patterns = card(session, board.id, asked.want).data["patterns"]
    if not patterns:
        raise _nothing(board, "no asynchronous cache cycle to time in this state")
    return {"patterns": patterns}


def _jumpers(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.describing import described

    seen = described(session, history, board, asked.want)
    after = {c.name: c.after for c in seen.changes}
    now = board.setup.state
    rows = [
        {
            "id": j.id,
            "positions": j.positions,
            "now": now.value(j.id),
            "after": after.get(j.id, now.value(j.id)),
            "at_mm": j.at_mm,
            "leave": j.leave,
        }
        for j in board.fold.sheet.jumpers
    ]
    if not rows:
        raise _nothing(board, "its sheet has no jumper")
    return {"jumpers": rows}


def _ladder(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.laddering import ladder

    data = _kept(session, ("ladder", board.id), lambda: ladder(session, board.id))
    if not data["cells"]:
        raise _nothing(board, "; ".join(data["notes"]) or "no cache to time")
    return data


def _timeline(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.benching import story

    return {"rows": story(session, board.id).data["rows"]}


def _split(session: Session, history: History, board: BoardView, asked: Asked) -> dict[str, Any]:
    from leadoff.loop.choosing import choose

    made = _kept(
        session, ("forecast", board.id, asked.want), lambda: choose(session, board.id, asked.want)
    ).get("time_split", {})
    workload = asked.workload or next(iter(made), "")
    if not made.get(workload):
        raise _nothing(board, f"no forecast of {workload or 'any workload'} in this state")
    return {"workload": workload, "parts": made[workload]}


def _kept(session: Session, key: tuple[Any, ...], make: Callable[[], Result]) -> dict[str, Any]:
    """A result as plain values; at a desk it is worked out once for the page and its pictures together."""
    from leadoff.loop.desk import DeskSession

    made = session.desk.answer(key, make) if isinstance(session, DeskSession) else make()
    found: dict[str, Any] = msgspec.json.decode(made.json())["data"]
    return found


def _nothing(board: BoardView, why: str) -> LeadoffError:
    return LeadoffError.one("not_found", f"there is nothing to draw for {board.id}: {why}", where=board.id)


PICTURES: Mapping[str, Callable[[Session, History, BoardView, Asked], dict[str, Any]]] = {
    "record": _record,
    "forecasts": _forecasts,
    "sweep": _sweep,
    "slack": _slack,
    "jumpers": _jumpers,
    "ladder": _ladder,
    "timeline": _timeline,
    "split": _split,
}
