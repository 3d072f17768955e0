"""Findings in the order they were made to what holds now: repairs reset what they may have changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from leadoff.faults.kinds import Knowledge, Observation
from leadoff.faults.values import REPAIR, Contradiction, Finding
from leadoff.record.errors import LeadoffError, Problem


@dataclass
class Held:
    """``levels`` of readings and ``swaps`` that hold now; ``repaired`` faults; what was set aside and why."""

    levels: dict[str, int] = field(default_factory=dict)
    swaps: dict[str, int] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    repaired: list[str] = field(default_factory=list)
    aside: list[str] = field(default_factory=list)
    clashes: list[Contradiction] = field(default_factory=list)


def fold(kb: Knowledge, findings: Sequence[Finding]) -> Held:
    """The findings that hold, oldest first in the argument.

    A repair sets aside the earlier findings that its fault could have caused, and all earlier swaps. The same
    observation with two outcomes and no repair between is a contradiction: named, and not used. Raises
    ``LeadoffError`` for observations or outcomes that are not in the tables.
    """
    _known(kb, findings)
    held = Held()
    struck: set[str] = set()
    for f in findings:
        if f.observation.startswith(REPAIR):
            _repair(kb, held, f.observation.removeprefix(REPAIR))
            struck.clear()
            continue
        o = kb.observations[f.observation]
        level = o.outcomes.index(f.outcome)
        book = held.swaps if o.kind == "swap" else held.levels
        if f.observation in struck:
            continue
        if book.get(f.observation, level) != level:
            first = o.outcomes[book.pop(f.observation)]
            struck.add(f.observation)
            text = f"{o.name}: once {_plain(first)}, once {_plain(f.outcome)}; used neither, repeat it"
            held.clashes.append(Contradiction(findings=(f.observation,), text=text))
            continue
        book[f.observation] = level
        held.said[f.observation] = f.said
    return held


def _plain(outcome: str) -> str:
    return outcome.replace("_", " ")


def _known(kb: Knowledge, findings: Sequence[Finding]) -> None:
    problems = []
    for f in findings:
        if f.observation.startswith(REPAIR):
            if f.observation.removeprefix(REPAIR) not in kb.faults:
                text = f"{f.observation}: there is no such fault in the tables"
                problems.append(Problem(code="faults.unknown", text=text, do="name a fault of the tables"))
            continue
        o = kb.observations.get(f.observation)
        if o is None or f.outcome not in o.outcomes:
            allowed = ", ".join(o.outcomes) if o else "no such observation"
            text = f"{f.observation} {f.outcome} is no finding of the tables ({allowed}); it would be lost"
            problems.append(Problem(code="faults.unknown", text=text, where=f.said, do="say it otherwise"))
    if problems:
        raise LeadoffError(*problems)


def _repair(kb: Knowledge, held: Held, fault: str) -> None:
    held.repaired.append(fault)
    starts = bool(kb.faults[fault].stage)
    for name in list(held.levels):
        o = kb.observations[name]
        if held.levels[name] and (fault in o.links or (starts and o.by_stage)):
            del held.levels[name]
            held.aside.append(_aside(o))
    for name in list(held.swaps):
        del held.swaps[name]
        held.aside.append(_aside(kb.observations[name]))


def _aside(o: Observation) -> str:
    return f"{o.name}: from before the repair, see it again"
