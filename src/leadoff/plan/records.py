"""What a board holds so far: its best states by workload, and what its runs leave untold."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from leadoff.forecast.datum import Datum, data, state_key
from leadoff.forecast.facts import Observed, Setup
from leadoff.plan.worth import Untold
from leadoff.record.runs import Outcome, Workload


def record_states(
    board: str,
    workloads: Sequence[Workload],
    runs: Sequence[Observed],
    counts: Callable[[Setup], bool] | None = None,
) -> dict[str, Datum]:
    """The best state of the board so far, by workload, of those that count; one that failed its soak or its copies is
    none. Its score is the mean of the printed readings, not the middle of their intervals in logs."""
    void = _failed_protocols(board, runs)
    out = {}
    for w in workloads:
        own = [d for d in data(w, runs) if d.setup.board == board and d.key not in void]
        for d in sorted(own, key=lambda d: d.mid):
            if counts is None or counts(d.setup):
                out[w.name] = d
                break
    return out


def _failed_protocols(board: str, runs: Iterable[Observed]) -> set[tuple[tuple[str, str], ...]]:
    """States whose last soak or copy-compare went wrong."""
    last = {
        state_key(o.setup): o.run.outcome.held
        for o in sorted(runs, key=lambda o: (o.when, o.run.number))
        if o.setup.board == board
        and (o.run.place in ("soak", "copy") or o.run.outcome in (Outcome.SOAKED, Outcome.COPY_CLEAN))
    }
    return {key for key, held in last.items() if not held}


def untold_of(workload: Workload, board: str, runs: Sequence[Observed]) -> Untold:
    """What the runs of a board leave untold of a workload."""
    return Untold([d.setup for d in data(workload, runs) if d.setup.board == board])
