"""A dead or ailing board: explanations, next tests, the repair, what to save, what does not go together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from leadoff.faults import advice
from leadoff.faults.clashes import contradictions
from leadoff.faults.fold import Held
from leadoff.faults.kinds import Knowledge
from leadoff.faults.learn import learn
from leadoff.faults.needs import Safety
from leadoff.faults.network import Network
from leadoff.faults.prepared import Work, prepare
from leadoff.faults.products import RANK_LIMIT
from leadoff.faults.proposals import LEAST_RATE, LEAST_SEEN, Ranked, Scored, proposal, rank, score
from leadoff.faults.remarks import NOTHING_OPEN, look_first, marks_of, no_power, why_stop
from leadoff.faults.results import Act, ahead, outlooks, seen
from leadoff.faults.solver import method
from leadoff.faults.value import Prices, belief_cost, first_repair, prices
from leadoff.faults.values import (
    EXACTLY_ONE,
    NO_SYMPTOM,
    SEVERAL,
    Bench,
    Blocked,
    Case,
    Diagnosis,
    Explanation,
    Finding,
    Fitted,
    Proposal,
    RepairAdvice,
)

LOSS_MINUTES = 480.0
"""A board given up, in minutes of the person's time. Judgement; the caller may know better."""
MINUTES_PER_UNIT = 5.0
"""One unit of cost (a coin cell) in minutes. Judgement."""


UNKNOWN_BOARD = Fitted()
KITCHEN_TABLE = Bench()


def diagnose(
    kb: Knowledge,
    era: str,
    findings: Sequence[Finding],
    *,
    fitted: Fitted = UNKNOWN_BOARD,
    bench: Bench = KITCHEN_TABLE,
    mode: str = SEVERAL,
    cases: Sequence[Case] = (),
    listing: Sequence[str] = (),
    done: frozenset[str] = frozenset(),
    loss_minutes: float = LOSS_MINUTES,
    minutes_per_unit: float = MINUTES_PER_UNIT,
    top: int = 3,
) -> Diagnosis:
    """What is wrong, and what to do next.

    ``findings`` oldest first. ``mode`` exactly_one: one fault is known to be present, no more and no less.
    ``listing``: ids of seller's words that count. ``done``: tests the person vouches for as normal though no
    finding says so. Chances are exact over all sets of faults of the tables (see ``method``, ``error``);
    the tables themselves are judgement until closed cases move them. Raises ``LeadoffError`` for unknown
    eras, observations and outcomes, and for findings that the tables hold to be impossible together.
    """
    kb = learn(kb, [c for c in cases if c.era == era])
    work = prepare(kb, era, findings, fitted, mode, listing)
    one, net = work.one, work.net
    price = prices(
        kb, net.names, loss_minutes=loss_minutes, minutes_per_unit=minutes_per_unit, skill=bench.skill
    )
    scored, blocked = _weigh_tests(work, era, bench, price, done)
    ranked = rank(scored)
    # Nothing is looked for where nothing is complained of, or nobody has seen whether the repair cured it.
    quiet = work.symptom == NO_SYMPTOM
    chosen = [] if quiet else [r for r in ranked if r.rate >= LEAST_RATE][:top]
    tests = _proposals(work, chosen)
    explanations = _explanations(kb, work)
    other = max(0.0, 1.0 - float(work.base.sole.sum()) / work.base.z)
    unlisted = min(other, max(0.0, work.base.unlisted / work.base.z))
    repair = _repair(kb, work, first_repair(work.base.blocks / work.base.z, price, exclusive=one))
    found = Diagnosis(
        mode=EXACTLY_ONE if one else SEVERAL,
        era=era,
        symptom=work.symptom,
        explanations=explanations,
        other_p=other,
        several_p=max(0.0, other - unlisted),
        unlisted_p=unlisted,
        no_power=tuple(kb.observations[m.refs[0]].name for m in no_power(kb, work)),
        tests=tests,
        blocked=() if quiet else tuple(blocked[:5]),
        stop=NOTHING_OPEN if quiet else why_stop(kb, _pays(scored), repair),
        repair=repair,
        save_first=advice.guards(kb, [t.test for t in tests], repair.fault if repair else ""),
        contradictions=contradictions(kb, net, work.held, work.symptom, work.base, one=one),
        open_symptoms=advice.open_symptoms(kb, work.held),
        look_first=look_first(kb, work, fitted),
        set_aside=tuple(work.held.aside),
        marks=marks_of(kb, work, fitted, bench, blocked),
        method=method(work.base, one=one),
        error=work.base.error,
        learnt_from=kb.learnt_from,
        tables=kb.digest,
    )
    return found


@dataclass(frozen=True)
class Step:
    """The next thing to do and nothing more: a ``test``, else the ``repair`` of a fault, else give up. ``order``:
    faults by the chance that they are the cause."""

    test: str
    repair: str
    order: tuple[str, ...]


def decide(
    kb: Knowledge, era: str, findings: Sequence[Finding], bench: Bench, *, fitted: Fitted = UNKNOWN_BOARD
) -> Step:
    """What ``diagnose`` would have done next, without its words: for simulations."""
    work = prepare(kb, era, findings, fitted, SEVERAL, (), limit=RANK_LIMIT)
    price = prices(
        kb,
        work.net.names,
        loss_minutes=LOSS_MINUTES,
        minutes_per_unit=MINUTES_PER_UNIT,
        skill=bench.skill,
    )
    scored, _ = _weigh_tests(work, era, bench, price, frozenset(), blocked_too=False)
    first = first_repair(work.base.blocks / work.base.z, price, exclusive=False)
    names = work.net.names
    ranked = [r for r in rank(scored) if r.rate >= LEAST_RATE] if _pays(scored) else []
    return Step(
        test=ranked[0].test.o.id if ranked else "",
        repair=names[first] if first is not None and work.symptom != NO_SYMPTOM else "",
        order=tuple(names[i] for i in np.argsort(-work.base.sole, kind="stable") if names[i] in kb.faults),
    )


def _weigh_tests(
    work: Work, era: str, bench: Bench, price: Prices, done: frozenset[str], *, blocked_too: bool = True
) -> tuple[list[Scored], list[Blocked]]:
    safety = Safety(work.kb, era, work.held.levels, done, bench, _running(work.kb, work.held))
    now = float(belief_cost((work.base.blocks / work.base.z)[None], price, exclusive=work.one)[0])
    acts = open_acts(work.kb, work.net, work.held, done)
    if not blocked_too:
        acts = [a for a in acts if safety.open(work.kb.observations[a.id])]
    acts = _to_be_seen(work, acts)
    view = ahead(work.net, work.ev, acts, work.base, one=work.one)
    return score(work.kb, view, now, price, safety, one=work.one)


def _running(kb: Knowledge, held: Held) -> bool:
    """Whether the board has shown a picture from this supply and processor."""
    by_message = any(kb.observations[n].needs_stage for n in held.levels)
    return by_message or held.levels.get("o_screen") == 0 or held.levels.get("o_card_code") == 0


def open_acts(kb: Knowledge, net: Network, held: Held, done: frozenset[str]) -> list[Act]:
    """Every test not yet done, two-sided readings as one act."""
    sides = {o.side_of: o.id for o in kb.observations.values() if o.side_of and o.id in net.nodes}
    taken = {*held.levels, *held.swaps, *done}
    acts = []
    for name in net.nodes:
        if name in taken or kb.observations[name].side_of:
            continue
        pair = (name, sides[name]) if name in sides and sides[name] not in taken else (name,)
        acts.append(_act(net, pair))
    return acts


@lru_cache(maxsize=1000)
def _act(net: Network, names: tuple[str, ...]) -> Act:
    return Act(tuple(net.nodes[n] for n in names))


def _to_be_seen(work: Work, acts: Sequence[Act]) -> list[Act]:
    """Without the tests that need a better start than this board more likely than not has."""
    reach = [min(n.reach for n in a.nodes) for a in acts]
    chance = seen(work.net, work.ev, reach, work.base, one=work.one)
    return [a for a, r in zip(acts, reach, strict=True) if chance[r] >= LEAST_SEEN]


def _explanations(kb: Knowledge, work: Work, most: int = 8) -> tuple[Explanation, ...]:
    z = work.base.z
    cause, present, blocks = work.base.sole / z, work.base.present / z, work.base.blocks / z
    key = present if work.symptom == NO_SYMPTOM else cause
    real = [i for i in np.argsort(-key, kind="stable") if work.net.names[i] in kb.faults]
    return tuple(
        Explanation(
            fault=work.net.names[i],
            name=kb.faults[work.net.names[i]].name,
            p_cause=float(cause[i]),
            p_present=float(present[i]),
            p_blocks=float(blocks[i]),
            what=kb.faults[work.net.names[i]].what,
        )
        for i in real[:most]
    )


def _proposals(work: Work, chosen: Sequence[Ranked]) -> tuple[Proposal, ...]:
    out: list[Proposal] = []
    looks = outlooks(work.net, work.ev, [r.test.act for r in chosen], work.base, one=work.one)
    for r, look in zip(chosen, looks, strict=True):
        # A test stands in the list only when everything it needs stands before it, or is done.
        before = [t.test for t in out]
        if set(r.test.way.needs) <= set(before):
            out.append(proposal(work.kb, work.net, r, look, before))
    return tuple(out)


def _repair(kb: Knowledge, work: Work, i: int | None) -> RepairAdvice | None:
    if i is None or work.symptom == NO_SYMPTOM:
        return None
    z = work.base.z
    cause, blocks = float(work.base.sole[i]) / z, float(work.base.blocks[i]) / z
    return advice.repair_of(kb, work.held, work.net.names[i], cause, blocks, work.symptom)


def _pays(scored: Sequence[Scored]) -> bool:
    """Whether a test, with what has to come before it, saves more than it costs."""
    minutes = {s.o.id: s.minutes for s in scored}
    return any(s.drop > s.minutes + sum(minutes.get(n, 0.0) for n in s.way.needs) for s in scored)
