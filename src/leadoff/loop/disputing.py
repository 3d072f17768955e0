"""What evidence disputes of a board: conflicts, the state with its disputed settings marked, the runs affected."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

import msgspec

from leadoff.evidence.reconcile import Conflict, inferred, reconcile, sweep_facts
from leadoff.forecast.facts import Setup
from leadoff.loop.history import BoardView
from leadoff.loop.session import Session
from leadoff.loop.swept import reading_of
from leadoff.record.errors import LeadoffError
from leadoff.record.evidence import Fact
from leadoff.record.marks import Level, Mark
from leadoff.record.results import mark, note
from leadoff.record.state import State, Status

CACHES = ("cpu", "l1", "l2", "l2_kb", "l2_type", "tag_bits", "l2_chips", "l2_banks")
SETTLED = (Status.KNOWN, Status.ASSUMED)
NAMED_RUNS = 6


def conflicts(session: Session, board: BoardView, more: Sequence[Fact] = ()) -> tuple[Conflict, ...]:
    """Conflicts of a board with all evidence that still counts, and with facts not yet in the book."""
    facts = (*board.seen, *more)
    facts += _swept(board)
    if not facts:
        return ()
    return reconcile(board.setup, facts, partial(cores_of, session))


def cores_of(session: Session, name: str) -> frozenset[str]:
    """Core designs that a processor's name may mean; empty for a name that no row knows."""
    return frozenset(row.core for row in session.catalogue.find_cpu(name) if row.core)


def _swept(board: BoardView) -> tuple[Fact, ...]:
    """The last sweep that was made with the processor and the caches as they are set now."""
    now = board.setup
    for view in reversed(board.sweeps):
        if any(view.setup.state.value(n) != now.state.value(n) for n in CACHES):
            return ()
        try:
            reading = reading_of(view)
        except LeadoffError:
            continue
        l2 = now.state.value("l2_kb")
        inside = now.processor.l1_kb if now.processor is not None else None
        found = sweep_facts(reading, l1_kb=inside, l2_kb=None if l2 is None else float(l2), digest=view.entry)
        if found:
            return found
    return ()


def disputed(state: State, found: Sequence[Conflict]) -> State:
    """The state with disputed settings marked; their values stay as they were declared."""
    settings = dict(state.settings)
    for conflict in found:
        for name in conflict.disputes:
            old = settings.get(name)
            if old is None or old.value is None or old.status not in SETTLED:
                continue
            settings[name] = msgspec.structs.replace(
                old,
                status=Status.DISPUTED,
                against=conflict.seen,
                why=f"{old.why}; {conflict.text}".strip("; "),
            )
    return msgspec.structs.replace(state, settings=settings)


def affected(board: BoardView, found: Sequence[Conflict]) -> dict[str, tuple[str, ...]]:
    """Runs made while everything that one conflict disputes stood as it does now: number to settings in doubt."""
    now = board.setup
    doubted: dict[str, tuple[str, ...]] = {}
    for conflict in found:
        names = tuple(n for n in conflict.disputes if _value(now, n) is not None)
        for view in reversed(board.runs) if names else ():
            if any(_value(view.setup, n) != _value(now, n) for n in names):
                break
            old = doubted.get(view.run.number, ())
            doubted[view.run.number] = (*old, *(n for n in names if n not in old))
    return {r.run.number: doubted[r.run.number] for r in board.runs if r.run.number in doubted}


def doubts(session: Session, board: BoardView) -> dict[str, tuple[str, ...]]:
    """Runs of a board in doubt, by number; quick where no evidence is kept."""
    if not board.seen and not board.sweeps:
        return {}
    return affected(board, conflicts(session, board))


def in_dispute(session: Session, board: BoardView) -> list[Mark]:
    """One amber for a verb that takes the state as declared, naming what evidence disputes of it."""
    if not board.seen and not board.sweeps:
        return []
    found = [c for c in conflicts(session, board) if c.disputes]
    if not found:
        return []
    names = ", ".join(dict.fromkeys(n for c in found for n in c.disputes))
    decides = f"`leadoff state {board.id}` says what would decide"
    text = f"evidence disputes {names}; this takes them as declared. {decides}"
    return [mark(Level.AMBER, "state_disputed", text)]


def _value(setup: Setup, name: str) -> object:
    if name in ("core_mhz", "bus_mhz"):
        return setup.clocks.get(name)
    return setup.state.value(name)


def inference(board: BoardView, more: Sequence[Fact] = ()) -> tuple[list[dict[str, Any]], list[Mark]]:
    """Pairs of bus clock and ratio that make a timed core clock, where the state lacks one of the two."""
    found = inferred(board.setup, (*board.seen, *more))
    if found is None:
        return [], []
    mhz, pairs = found
    data = [{"bus_mhz": float(p.bus_mhz), "ratio": float(p.ratio), "off_pct": p.off_pct} for p in pairs]
    said = [f"{float(p.bus_mhz):.4g} MHz x {float(p.ratio):g}" for p in pairs]
    if not said:
        text = f"core {mhz:g} MHz: no bus clock and ratio of this board make it"
    elif len(said) == 1:
        text = f"core {mhz:g} MHz is {said[0]}: no other pair of this board makes it"
    else:
        text = f"core {mhz:g} MHz is {' or '.join(said)}: measuring the bus clock decides"
    return data, [note("clocks_inferred", text)]


def conflict_view(conflict: Conflict) -> dict[str, Any]:
    """A conflict as the contract prints it."""
    return {
        "setting": conflict.setting,
        "code": conflict.code,
        "text": conflict.text,
        "declared": conflict.declared,
        "seen": conflict.seen,
        "rank": conflict.rank.value,
        "cosmetic": conflict.cosmetic,
        "disputes": list(conflict.disputes),
        "claims": [
            {"setting": c.setting, "value": c.value, "rank": c.rank.value, "why": c.why}
            for c in conflict.claims
        ],
        "hypotheses": [
            {"id": h.id, "name": h.name, "p": h.p, "check": h.check, "minutes": h.minutes}
            for h in conflict.hypotheses
        ],
    }


def conflict_marks(found: Sequence[Conflict], runs: dict[str, tuple[str, ...]]) -> list[Mark]:
    """One amber for every conflict that touches the state, and one for the runs it casts doubt on."""
    marks = [mark(Level.AMBER if not c.cosmetic else Level.NOTE, f"conflict_{c.code}", c.text) for c in found]
    if runs:
        numbers = list(runs)
        named = ", ".join(numbers[:NAMED_RUNS]) + (
            f" and {len(numbers) - NAMED_RUNS} more" if numbers[NAMED_RUNS:] else ""
        )
        names = ", ".join(dict.fromkeys(n for found_names in runs.values() for n in found_names))
        which = f"runs {named} were" if len(numbers) > 1 else f"run {named} was"
        text = f"{which} logged while {names} stood as disputed now"
        marks.append(mark(Level.AMBER, "runs_in_doubt", text, *numbers))
    return marks
