"""Workloads worth showing on a board: what each needs, what was measured and what is foretold, how long it takes."""

from __future__ import annotations

from leadoff.forecast.answer import Forecast
from leadoff.forecast.needs import not_known, undefined_because
from leadoff.forecast.scores import score_of
from leadoff.loop.history import BoardView, History
from leadoff.loop.public_model import rounded
from leadoff.machine.same import same_state
from leadoff.record.entries import Expected
from leadoff.record.public import ShowPiece
from leadoff.record.quantity import Quantity, Source, undefined, unknown

NOTHING = "neither run nor foretold in this state"


def show_pieces(history: History, board: BoardView, made: Forecast | None) -> tuple[ShowPiece, ...]:
    """Every workload of the book on the board as set: its last run in this state beside what ``made`` says now.

    What the state cannot run is undefined with the reason, never zero. Those that run stand first.
    """
    here = [r for r in board.runs if same_state(r.setup.state, board.setup.state) and r.run.readings]
    told = {e.workload: e for e in made.expected} if made is not None else {}
    out = []
    for name, w in sorted(history.workloads.items()):
        why, e = undefined_because(w, board.setup), told.get(name)
        measured = [r for r in here if r.run.workload == name]
        median = None if why or e is None or e.median is None else rounded(e.median)
        if why:
            score = undefined(w.unit, why)
        elif measured:
            score = score_of(measured[-1].run)
        elif median is not None:
            score = Quantity(value=median, unit=w.unit, source=Source.COMPUTED)
        else:
            score = unknown(w.unit, NOTHING)
        out.append(
            ShowPiece(
                workload=name,
                unit=w.unit,
                needs=w.needs,
                score=score,
                band90=_band(e.band90) if e is not None and median is not None else None,
                band50=_band(e.band50) if e is not None and median is not None else None,
                undefined=why,
                minutes=w.minutes,
                foretold=median,
                basis=made.basis if made is not None and median is not None else "",
                not_known=not_known(w, board.setup),
                silent="" if median is not None or why else _silent(e),
            )
        )
    return tuple(sorted(out, key=lambda p: (bool(p.undefined), p.score.value is None)))


def _band(band: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if band is None else (rounded(band[0]), rounded(band[1]))


def _silent(e: Expected | None) -> str:
    return e.undefined if e is not None and e.undefined else NOTHING
