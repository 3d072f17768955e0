"""The verb ``now``: what now, the next run worth its minutes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import msgspec

from leadoff.forecast.facts import Setup
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.judging import judged, reds, warnings
from leadoff.loop.moving import sheet_mark
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.loop.views import expected_view, moves_view
from leadoff.machine.candidates import position_changes
from leadoff.machine.effects import carriers
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.reach import shown
from leadoff.machine.same import differing
from leadoff.record.marks import Mark
from leadoff.record.moves import Change, Move
from leadoff.record.results import Result, note
from leadoff.record.runs import Workload
from leadoff.record.settings import in_words

if TYPE_CHECKING:
    from leadoff.plan.now import Act, Candidate

MOST = 1500
"""Candidates looked at in one call; more changes at once than that cost more minutes than they tell."""

POOL = 16
"""Acts that an evening's list may be made of."""


class Found(msgspec.Struct, frozen=True):
    """A state that can be set next: its setup, the moves from the board as set, and what changes."""

    setup: Setup
    moves: tuple[Move, ...]
    changes: tuple[Change, ...]


def now(
    session: Session,
    name: str,
    *,
    workload: str | None = None,
    limit: int = 5,
    minutes: float | None = None,
    goal: str = "fast",
    grade: str | None = None,
) -> Result:
    """Rank what can be set next by expected gain per minute; with ``minutes`` also the list of an evening."""
    from leadoff.plan.now import now as rank

    history = read_history(session)
    board = history.board(name)
    asked = None
    if minutes is not None:
        from leadoff.loop.evening import Asked, evening, without_runs

        asked = Asked(goal=goal, minutes=minutes, grade=grade)
        asked.least()  # a grade that there is not is refused before anything is ranked
    workloads = _workloads(history, board, workload)
    if not workloads:
        data: dict[str, Any] = {
            "board": board.id,
            "acts": [],
            "measured": False,
            "stop": "log a first run of anything you time; then ask again",
        }
        if asked is not None:
            data["route"] = without_runs(board, asked)
        return session.result("now", data, _marks(board))
    found = candidates(session, board)
    safe = asked is not None and goal == "safe"
    plan = rank(
        ranked(found),
        history.all_runs(),
        workloads,
        limit=limit if minutes is None else max(limit, POOL),
        cache_dir=session.cache,
        judge=lambda setup: said_against(session, setup, safe=safe),
        counts=(lambda setup: not said_against(session, setup, safe=True)) if safe else None,
    )
    acts: list[dict[str, Any]] = [act_view(board, found, act) for act in plan.acts[:limit]]
    data = {"board": board.id, "acts": acts, "measured": True, "stop": plan.stop}
    if asked is not None:
        data["route"] = evening(session, history, board, workloads, found, plan, asked)
    return session.result("now", data, _marks(board))


def said_against(session: Session, setup: Setup, *, safe: bool) -> tuple[str, ...]:
    """What speaks against a state: its reds; where it is to be ``safe``, every warning."""
    lines = judged(session, setup)
    return tuple(m.text for m in warnings(lines)) if safe else reds(lines)


def ranked(found: Mapping[str, Found]) -> list[Candidate]:
    """The states as the ranking takes them."""
    from leadoff.plan.now import Candidate

    return [
        Candidate(id=key, setup=f.setup, moves=f.moves, minutes=total_minutes(f.moves))
        for key, f in found.items()
    ]


def act_view(board: BoardView, found: Mapping[str, Found], act: Act) -> dict[str, Any]:
    """One act as the contract lists it."""
    setup = found[act.candidate].setup
    return {
        "kind": act.kind,
        "what": what_changes(board, setup),
        "moves": moves_view(found[act.candidate].moves),
        "minutes": act.minutes,
        "chance_hold": act.chance_hold,
        "predicted": expected_view(act.predicted) if act.predicted is not None else None,
        "gain_pct": act.gain_pct,
        "gain_sd_pct": act.gain_sd_pct,
        "worth_per_minute": act.worth_per_minute,
        "why": act.why,
        "cautions": list(act.cautions),
        "settings": {n: setup.state.value(n) for n in differing(board.setup.state, setup.state)},
    }


def _workloads(history: History, board: BoardView, workload: str | None) -> tuple[Workload, ...]:
    if workload is None:
        return most_run(board, tuple(history.workloads.values()))
    return (history.workload(workload, do="log a run of it first"),)


def most_run(board: BoardView, workloads: tuple[Workload, ...]) -> tuple[Workload, ...]:
    """The workload this board finished most often; all of them before its first score."""
    counts = Counter(r.run.workload for r in board.runs if r.run.readings)
    if not counts:
        return workloads
    name = max(sorted(c for c in counts if c), key=lambda n: counts[n])
    return tuple(w for w in workloads if w.name == name)


def candidates(session: Session, board: BoardView, *, most: int = MOST) -> dict[str, Found]:
    """Setups by a key that says what changes; the state as set is the first, each state once."""
    part = PartFinder(session)
    out = {"": Found(board.setup, (), ())}
    seen = {_key(board.setup)}
    for changes in position_changes(board.fold, board.setup.state, board.setup.processor, most=most):
        fold = BoardFold(sheet=board.fold.sheet, said=after(board.fold, changes, session.at))
        setup = make_setup(fold, part, board.base)
        key = _key(setup)
        if key not in seen:
            seen.add(key)
            name = ", ".join(f"{c.name} {c.after}" for c in changes)
            out[name] = Found(setup, moves_for(changes, board.fold.sheet), changes)
    return out


def _key(setup: Setup) -> tuple[tuple[str, str | None], ...]:
    """What a state amounts to, however its jumpers stand."""
    positions = {c.id for c in carriers(setup.sheet)}
    return tuple((n, s.value) for n, s in sorted(setup.state.settings.items()) if n not in positions)


def what_changes(board: BoardView, setup: Setup) -> str:
    """The settings that change, in words."""
    positions = {c.id for c in carriers(setup.sheet)}
    names = [n for n in differing(board.setup.state, setup.state) if n not in positions]
    words = [f"{in_words(n)} {shown(n, v)}" for n in names if (v := setup.state.value(n)) is not None]
    words = [
        w.removesuffix(" bus clocks") for w in words
    ]  # wait states and patterns are counted in nothing else
    return ", ".join(words) or "the state as set"


def _marks(board: BoardView) -> list[Mark]:
    marks = sheet_mark(board)
    if board.open_symptoms:
        names = ", ".join(s.finding for s in board.open_symptoms)
        marks.append(note("open_symptoms", f"still open on this board: {names}"))
    return marks
