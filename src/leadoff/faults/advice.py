"""The repair of what leads, what to save before it, and what closes a symptom."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.faults.fold import Held, is_complaint
from leadoff.faults.kinds import Knowledge
from leadoff.faults.proposals import cautions
from leadoff.faults.stand_ins import OF_FAULT
from leadoff.faults.values import START, Guard, RepairAdvice, Symptom


def accept_steps(kb: Knowledge, name: str) -> tuple[str, ...]:
    """The tests that close a repair or a symptom; a group's steps where the fault has none of its own."""
    own = [a for a in kb.accepts.values() if name in a.of]
    if not own and name in kb.faults:
        own = [a for a in kb.accepts.values() if kb.faults[name].group in a.of]
    if not own and name not in kb.faults:
        own = [a for a in kb.accepts.values() if "any_symptom" in a.of]
    return tuple(dict.fromkeys(s for a in own for s in a.steps))


def repair_of(
    kb: Knowledge, held: Held, name: str | None, p_cause: float, p_blocks: float, symptom: str
) -> RepairAdvice | None:
    """The repair of fault ``name``, with what closes it and what else to see again."""
    if name is None:
        return None
    fault = kb.faults[name]
    others = [s for s in open_symptoms(kb, held) if s.observation not in _of_start(symptom)]
    return RepairAdvice(
        fault=fault.id,
        action=fault.repair.action,
        minutes=fault.repair.minutes,
        parts_cost=fault.repair.parts_cost,
        skill=fault.repair.skill,
        success=fault.repair.success,
        p_cause=p_cause,
        p_blocks=p_blocks,
        reversible=fault.repair.reversible,
        cautions=cautions(kb, fault.cautions),
        accept=tuple(dict.fromkeys(accept_steps(kb, fault.id) + accept_steps(kb, _main(symptom)))),
        retest=tuple(f"{s.name} (a symptom of its own: see it again after a cold start)" for s in others),
        ways=tuple(w for w in kb.ways.values() if fault.id in w.mends),
        substitute=OF_FAULT.get(fault.id, "").replace("_", " "),
        undone=tuple(g.undone for g in guards(kb, [], fault.id) if g.undone),
    )


def _main(symptom: str) -> str:
    return "o_screen" if symptom == START else symptom


def _of_start(symptom: str) -> tuple[str, ...]:
    return ("o_screen", "o_power_signs") if symptom == START else (symptom,)


def guards(kb: Knowledge, tests: Sequence[str], fault: str) -> tuple[Guard, ...]:
    """What to save before these tests and this repair, each thing once."""
    names = {*tests, fault}
    rows = [s for s in kb.saves.values() if names & set(s.before)]
    return tuple(Guard(what=s.what, why=s.why, undone=s.undone) for s in rows)


def open_symptoms(kb: Knowledge, held: Held) -> tuple[Symptom, ...]:
    """Every complaint that was seen and not yet seen gone; the start counts as one. A repair closes none."""
    out = []
    for name, level in {**held.pending, **held.levels}.items():
        o = kb.observations[name]
        if level and is_complaint(o):
            outcome = o.outcomes[level]
            title = f"{o.name}: {outcome.replace('_', ' ')}"
            out.append(
                Symptom(
                    observation=name,
                    outcome=outcome,
                    name=title,
                    accept=accept_steps(kb, name),
                    said=held.said.get(name, ""),
                )
            )
    return tuple(out)
