"""Findings in the order they were made to what holds now: repairs reset what they may have changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from leadoff.faults.kinds import Fault, Knowledge, Observation
from leadoff.faults.values import REPAIR, Contradiction, Finding
from leadoff.record.errors import LeadoffError, Problem


@dataclass
class Held:
    """``levels`` of readings and ``swaps`` that hold now; ``repaired`` faults; what was set aside and why.

    ``pending``: complaints from before a repair, not seen since: open until they are.
    """

    levels: dict[str, int] = field(default_factory=dict)
    swaps: dict[str, int] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    repaired: list[str] = field(default_factory=list)
    aside: list[str] = field(default_factory=list)
    clashes: list[Contradiction] = field(default_factory=list)
    pending: dict[str, int] = field(default_factory=dict)


def fold(kb: Knowledge, findings: Sequence[Finding]) -> Held:
    """The findings that hold, oldest first in the argument.

    A repair sets aside the earlier findings that its fault could have caused, and all earlier swaps. The same
    observation read normal and not normal, with no repair and no cure between, is a contradiction: named, and not
    used until it is repeated; then the repetition counts. Of two readings that are both not normal the later
    counts: a second look sees more. Raises ``LeadoffError`` for what is not in the tables.
    """
    _known(kb, findings)
    held = Held()
    struck: dict[str, Contradiction] = {}
    cured = False
    for f in findings:
        if f.observation.startswith(REPAIR):
            _repair(kb, held, f.observation.removeprefix(REPAIR))
            struck.clear()
            cured = True
            continue
        o = kb.observations[f.observation]
        level = o.outcomes.index(f.outcome)
        book = held.swaps if o.kind == "swap" else held.levels
        before = book.get(f.observation, level)
        if f.observation in struck:
            held.clashes.remove(struck.pop(f.observation))
        elif before != level and 0 in (before, level) and not cured:
            del book[f.observation]
            held.said.pop(f.observation, None)
            text = (
                f"{o.name}: once {_plain(o.outcomes[before])}, once {_plain(f.outcome)}; neither is used: "
                "repeat it and say it again, or take the wrong one back with undo"
            )
            struck[f.observation] = Contradiction(findings=(f.observation,), text=text)
            held.clashes.append(struck[f.observation])
            continue
        elif before != level:
            held.aside.append(
                f"{o.name}: {_plain(o.outcomes[before])} before, {_plain(f.outcome)} now counts"
            )
        cured = cured or (o.kind == "swap" and level > 0)
        held.aside = [a for a in held.aside if a != _aside(o)]
        book[f.observation] = level
        held.said[f.observation] = f.said
        held.pending.pop(f.observation, None)
    return held


def is_complaint(o: Observation) -> bool:
    """Whether a reading that is not normal is something the person wants gone."""
    return bool(o.symptom) or o.id in ("o_screen", "o_power_signs")


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
    for name in list(held.levels):
        o = kb.observations[name]
        if held.levels[name] and _could_cause(kb.faults[fault], o, held.levels[name]):
            level = held.levels.pop(name)
            held.aside.append(_aside(o))
            if is_complaint(o):
                held.pending[name] = level
    for name in list(held.swaps):
        del held.swaps[name]
        held.aside.append(_aside(kb.observations[name]))


HARDLY = 0.02
"""Chance that a fault gives a reading below which its repair does not put the reading in doubt. Judgement."""


def _could_cause(fault: Fault, o: Observation, level: int) -> bool:
    """Whether a reading may be the work of this fault, directly or by how far the start gets with it."""
    if fault.id in o.links:
        return True
    return bool(o.by_stage) and sum(p * o.by_stage[s][level] for s, p in fault.stage.items()) >= HARDLY


def _aside(o: Observation) -> str:
    return f"{o.name}: from before the repair, see it again"
