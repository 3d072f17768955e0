"""A checked public file as entries of one's own book: the board, its states, its runs, its sealed forecasts."""

from __future__ import annotations

from typing import Any

import msgspec

from leadoff.loop.history import read_history
from leadoff.loop.public_pictures import run_of
from leadoff.loop.session import Session
from leadoff.record.entries import BoardBody, Body, ForecastBody, RunBody, StateBody, workload_row
from leadoff.record.errors import LeadoffError
from leadoff.record.public import PublicBoard, PublicForecast
from leadoff.record.state import UNKNOWN_SETTING, Setting, State

FROM = "public file"


def take_over(session: Session, public: PublicBoard, name: str) -> dict[str, Any]:
    """Write the board under ``name``, in the order in which things happened; what was written.

    Forecasts keep their own time and say where they come from: the proof that one is older than its result is the
    chain in the file, which was checked, and not the order in this book.

    Raises:
        LeadoffError: the book has a board of that name.
    """
    session.may_begin()
    history = read_history(session)
    if name in history.boards:
        raise LeadoffError.one(
            "board_there",
            f"this book has a board {name} already: nothing was loaded",
            where=name,
            do="give the loaded one another name with --as",
        )
    first = min([public.made_at, *(r.when for r in public.runs), *(f.when for f in public.forecasts)])
    bodies: list[tuple[Body, str]] = [
        (BoardBody(sheet=msgspec.structs.replace(public.board, id=name), file_text=""), first)
    ]
    bodies += [(workload_row(w), first) for w in public.workloads if w.name not in history.workloads]
    count = sum(len(b.forecasts) for b in history.boards.values())
    told: list[tuple[str, int, list[Body]]] = [
        (f.when, 0, [_forecast(public, f, name, f"f{count + n}")])
        for n, f in enumerate(public.forecasts, start=1)
    ]
    last: int | None = None
    for r in public.runs:
        own: list[Body] = []
        if r.state != last:
            own.append(StateBody(board=name, settings=settings_of(public, r.state), said=FROM))
            last = r.state
        said = f"{FROM} {public.digest[:12]}, run {r.number}"
        told.append((r.when, 1, [*own, RunBody(run=run_of(r, name), said=said)]))
    for when, _, made in sorted(told, key=lambda t: t[:2]):
        bodies += [(b, when) for b in made]
    bodies.append(
        (StateBody(board=name, settings=settings_of(public, public.state_now), said=FROM), public.made_at)
    )
    entries = session.write_dated(bodies)
    return {
        "board": name,
        "runs": len(public.runs),
        "forecasts": len(public.forecasts),
        "entries": len(entries),
        "ids": [e.id for e in entries],
    }


def _forecast(public: PublicBoard, f: PublicForecast, name: str, number: str) -> ForecastBody:
    return ForecastBody(
        number=number,
        state=State(board=name, settings=settings_of(public, f.state)),
        basis=f.basis,
        model=f.model,
        catalogue=f.catalogue,
        expected=f.expected,
        chance=f.chance,
        seen_result=f.seen_result,
        origin=f"{FROM} {public.digest[:12]}, forecast {f.number}, entry {f.entry}",
    )


def settings_of(public: PublicBoard, number: int) -> dict[str, Setting]:
    """A published state as settings of the house."""
    out = {}
    for n, v in public.states[number].items():
        out[n] = (
            UNKNOWN_SETTING if v.value is None else Setting(value=v.value, status=v.status, source=v.source)
        )
    return out
