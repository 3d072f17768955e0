"""The whole book as a ledger that claims are held against."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cmp_to_key
from typing import TYPE_CHECKING

import msgspec

from leadoff.claims.values import Ledger, Oddity, Sealed, StateKey, Trial, hold_key, state_key, state_settings
from leadoff.loop.history import REPAIRED, BoardView, ForecastView, History, RunView
from leadoff.machine.same import same_state

if TYPE_CHECKING:
    from leadoff.forecast.facts import Setup

Before = Callable[[str, str], bool]


def ledger_of(history: History, before: Before | None = None) -> Ledger:
    """Every run of every board, with its rig and its state as comparable values.

    ``before(a, b)`` tells whether entry ``a`` came before ``b``; without it no forecast is held against a run. One
    taken over from somebody's public file is not this book's own and is left out.
    """
    boards = history.boards.values()
    return Ledger(
        workloads=history.workloads,
        trials=tuple(t for board in boards for t in trials_of(board)),
        boards={b.id: b.fold.sheet.board_class for b in boards},
        sealed=()
        if before is None
        else tuple(
            s for b in boards for f in b.forecasts if not f.body.origin for s in _sealed(b, f, before)
        ),
        oddities=_in_order([o for b in boards for o in _oddities(b)], before),
    )


def trials_of(board: BoardView) -> tuple[Trial, ...]:
    """Every run of one board."""
    setups: dict[int, tuple[dict[str, str | None], StateKey, StateKey]] = {}
    return tuple(_trial(view, setups) for view in board.runs)


def _in_order(oddities: list[Oddity], before: Before | None) -> tuple[Oddity, ...]:
    """Symptoms of all boards by when they were first noted, where that is known."""
    if before is None:
        return tuple(oddities)
    first = cmp_to_key(lambda a, b: -1 if before(str(a), str(b)) else 1 if before(str(b), str(a)) else 0)
    return tuple(sorted(oddities, key=lambda o: first(o.entries[0])))


def with_runs(ledger: Ledger, views: Sequence[RunView]) -> Ledger:
    """The ledger with runs that were entered just now."""
    return msgspec.structs.replace(ledger, trials=(*ledger.trials, *(_trial(v) for v in views)))


def _trial(
    view: RunView, setups: dict[int, tuple[dict[str, str | None], StateKey, StateKey]] | None = None
) -> Trial:
    """One run; runs of one setup share what is worked out of it."""
    kept = {} if setups is None else setups
    found = kept.get(id(view.setup))
    if found is None:
        settings = state_settings(view.setup)
        found = kept[id(view.setup)] = (settings, state_key(settings), hold_key(view.setup))
    settings, key, hold = found
    return Trial(
        entry=view.entry,
        observed=view.observed(),
        rig=rig_name(view.run.rig, view.setup),
        settings=settings,
        key=key,
        hold_key=hold,
        said=view.said,
    )


def in_the_running(board: BoardView) -> list[RunView]:
    """Runs of states that nothing speaks against (no hang, no failed soak, no bad copies), as standings take them."""
    from leadoff.claims.grade import grade

    told = list(zip(board.runs, trials_of(board), strict=True))
    held: dict[StateKey, list[Trial]] = {}
    for _, trial in told:
        held.setdefault(trial.hold_key, []).append(trial)
    clean = {key for key, trials in held.items() if grade(trials).clean}
    return [view for view, trial in told if trial.hold_key in clean]


def rig_name(said: str, setup: Setup) -> str:
    """The rig as it was named, else the display card where the state knows it, else not recorded."""
    card = setup.state.value("video")
    return said or (f"display card {card}" if card else "")


def _sealed(board: BoardView, view: ForecastView, before: Before) -> list[Sealed]:
    """One for each workload of the forecast that has a band."""
    same = [r for r in board.runs if same_state(r.setup.state, view.body.state)]
    setup = same[0].setup if same else None
    values = {n: s.value for n, s in view.body.state.settings.items()}
    out = []
    for e in view.body.expected:
        if e.band90 is None or e.median is None:
            continue
        runs = [r for r in same if r.run.workload == e.workload and r.run.readings]
        out.append(
            Sealed(
                number=view.body.number,
                entry=view.entry,
                board=board.id,
                workload=e.workload,
                median=e.median,
                lo=e.band90[0],
                hi=e.band90[1],
                band50=e.band50,
                settings=values if setup is None else state_settings(setup),
                core_mhz=None if setup is None else setup.clock("core_mhz"),
                answered_by=tuple(r.run.number for r in runs if before(view.entry, r.entry)),
                late_for=tuple(r.run.number for r in runs if before(r.entry, view.entry)),
                guess=_guess(
                    board, view, e.workload, [r for r in runs if before(view.entry, r.entry)], before
                ),
            )
        )
    return out


def _guess(
    board: BoardView, view: ForecastView, workload: str, runs: list[RunView], before: Before
) -> float | None:
    """The user's last guess after the seal and before the first run that answers it."""
    own = [
        g.value
        for entry, g in board.guesses
        if g.workload == workload
        and before(view.entry, entry)
        and all(before(entry, r.entry) for r in runs[:1])
    ]
    return own[-1] if own else None


def _oddities(board: BoardView) -> list[Oddity]:
    """Symptoms in the order in which they were first noted; tests of an ailing board are none."""
    noted: dict[str, list[tuple[str, str, bool]]] = {}
    repaired: set[str] = set()
    mends: dict[str, list[str]] = {}
    for entry, body in board.noted:
        if body.finding.startswith(REPAIRED):
            repaired |= noted.keys()
            for finding in noted:
                mends.setdefault(finding, []).append(body.said)
        elif ":" not in body.finding:
            repaired.discard(body.finding)
            noted.setdefault(body.finding, []).append((entry, body.detail, body.closed))
    return [
        Oddity(
            board=board.id,
            finding=finding,
            details=tuple(d for _, d, _ in seen if d),
            entries=tuple(e for e, _, _ in seen),
            seen=sum(not closed for _, _, closed in seen),
            open=not seen[-1][2],
            repaired=finding in repaired,
            mends=tuple(m for m in mends.get(finding, []) if m),
        )
        for finding, seen in noted.items()
    ]
