"""Workloads worth showing on a board: what each needs, what was measured or is foretold, how long it takes."""

from __future__ import annotations

from leadoff.forecast.needs import undefined_because
from leadoff.forecast.scores import score_of
from leadoff.loop.history import BoardView, History
from leadoff.machine.same import same_state
from leadoff.record.public import ShowPiece
from leadoff.record.quantity import Quantity, Source, undefined, unknown


def show_pieces(history: History, board: BoardView) -> tuple[ShowPiece, ...]:
    """Every workload of the book on the board as set: a run in this state first, then its last sealed forecast.

    What the state cannot run is undefined with the reason, never zero. No model is fitted for this.
    """
    here = [r for r in board.runs if same_state(r.setup.state, board.setup.state) and r.run.readings]
    sealed = [f for f in board.forecasts if same_state(f.body.state, board.setup.state)]
    expected = {e.workload: e for e in sealed[-1].body.expected} if sealed else {}
    out = []
    for name, w in sorted(history.workloads.items()):
        why = undefined_because(w, board.setup)
        e = expected.get(name)
        measured = [r for r in here if r.run.workload == name]
        band = None
        if why:
            score = undefined(w.unit, why)
        elif measured:
            score = score_of(measured[-1].run)
        elif e is not None and e.median is not None:
            score = Quantity(value=e.median, unit=w.unit, source=Source.COMPUTED, refs=(sealed[-1].entry,))
            band = e.band90
        else:
            score = unknown(w.unit, "neither run nor foretold in this state: leadoff forecast BOARD")
        out.append(
            ShowPiece(
                workload=name,
                unit=w.unit,
                needs=w.needs,
                score=score,
                band90=band,
                undefined=why,
                minutes=w.minutes,
            )
        )
    return tuple(out)
