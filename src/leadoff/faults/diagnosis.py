"""A dead or ailing board: explanations, next tests, the repair, what to save, what does not go together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from leadoff.faults import advice
from leadoff.faults.clashes import contradictions
from leadoff.faults.evidence import Evidence, gather
from leadoff.faults.fitted import absent_faults, kind_of
from leadoff.faults.fold import Held, fold
from leadoff.faults.kinds import Knowledge
from leadoff.faults.learn import learn
from leadoff.faults.needs import Safety
from leadoff.faults.network import Network, build
from leadoff.faults.products import LIMIT, RANK_LIMIT, Answer
from leadoff.faults.proposals import LEAST_RATE, LEAST_SEEN, Ranked, Scored, proposal, rank, score
from leadoff.faults.results import Act, ahead, outlooks, seen
from leadoff.faults.solver import method, solve
from leadoff.faults.value import Prices, belief_cost, first_repair, prices
from leadoff.faults.values import (
    EXACTLY_ONE,
    NO_SYMPTOM,
    SEVERAL,
    START,
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
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark

LOSS_MINUTES = 480.0
"""A board given up, in minutes of the person's time. Judgement; the caller may know better."""
MINUTES_PER_UNIT = 5.0
"""One unit of cost (a coin cell) in minutes. Judgement."""


UNKNOWN_BOARD = Fitted()
KITCHEN_TABLE = Bench()


@dataclass(frozen=True, eq=False)
class Work:
    """Everything one diagnosis works on."""

    kb: Knowledge
    net: Network
    held: Held
    symptom: str
    ev: Evidence
    base: Answer
    one: bool


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
    tests = _proposals(work, [r for r in ranked if r.rate >= LEAST_RATE][:top])
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
        no_power=tuple(kb.observations[m.refs[0]].name for m in _no_power(kb, work)),
        tests=tests,
        blocked=tuple(blocked[:5]),
        stop=_stop(kb, scored, repair),
        repair=repair,
        save_first=advice.guards(kb, [t.test for t in tests], repair.fault if repair else ""),
        contradictions=contradictions(kb, net, work.held, work.symptom, work.base, one=one),
        open_symptoms=advice.open_symptoms(kb, work.held),
        look_first=_look_first(kb, work, fitted),
        set_aside=tuple(work.held.aside),
        marks=_marks(kb, work, fitted, bench, blocked),
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


def prepare(
    kb: Knowledge,
    era: str,
    findings: Sequence[Finding],
    fitted: Fitted,
    mode: str,
    listing: Sequence[str],
    *,
    limit: float = LIMIT,
) -> Work:
    """Fold the findings, choose the symptom, build the network and solve it; ``limit`` as in ``solver.solve``."""
    if mode not in (SEVERAL, EXACTLY_ONE):
        raise LeadoffError.one("faults.mode", f"{mode!r} is no mode", do=f"say {SEVERAL} or {EXACTLY_ONE}")
    if era not in next(iter(kb.faults.values())).prior:
        eras = ", ".join(next(iter(kb.faults.values())).prior)
        raise LeadoffError.one(
            "faults.era", f"there are no rates for the era {era!r}", do=f"use one of {eras}"
        )
    held = fold(kb, findings)
    kind = kind_of(fitted)
    if kind is not None and kind not in kb.kinds:
        text = f"{kind!r} is not known as what keeps the clock alive"
        raise LeadoffError.one("faults.fitted", text, do=f"use one of {', '.join(kb.kinds)} or external_cell")
    odds = _odds(kb, listing, held.repaired)
    net = _network(kb, era, kind, absent_faults(fitted), odds)
    levels = {n: v for n, v in held.levels.items() if n in net.nodes}
    swaps = {n: v for n, v in held.swaps.items() if n in net.nodes}
    symptom = symptom_of(kb, levels)
    one = mode == EXACTLY_ONE
    ev = gather(net, levels, symptom, swaps)
    base = solve(net, ev, one=one, limit=limit)
    if not base.z > 0:
        said = ", ".join(f"{kb.observations[n].name} ({held.said[n] or 'told'})" for n in levels)
        text = f"the tables hold these findings to be impossible together: {said}"
        raise LeadoffError.one("faults.impossible", text, do="take one back and repeat it")
    held.levels, held.swaps = levels, swaps
    return Work(kb, net, held, symptom, ev, base, one)


def _network(
    kb: Knowledge, era: str, kind: str | None, absent: frozenset[str], odds: Mapping[str, float]
) -> Network:
    """The network, kept with the tables: the next question on the same board finds it ready."""
    nets: dict[object, Network] = kb.memo.setdefault("networks", {})
    key = (era, kind, absent, tuple(f for f in odds.items() if f[1] != 1))
    if key not in nets:
        if len(nets) >= MOST_NETWORKS:
            nets.clear()
        nets[key] = build(kb, era, kind=kind, absent=absent, odds=odds)
    return nets[key]


MOST_NETWORKS = 200
"""Networks kept ready: about a quarter of a megabyte each."""


def _odds(kb: Knowledge, listing: Sequence[str], repaired: Sequence[str]) -> Mapping[str, float]:
    odds = dict.fromkeys(kb.faults, 1.0)
    for name in listing:
        row = kb.listing.get(name)
        if row is None:
            text = f"{name!r} is not among the seller's words of the tables"
            raise LeadoffError.one("faults.listing", text, do=f"use {', '.join(kb.listing)}")
        for f in kb.faults.values():
            odds[f.id] *= row.odds.get(f.group, row.odds.get("all", 1.0))
    for fault in repaired:
        odds[fault] *= 1 - kb.faults[fault].repair.success
    return odds


def symptom_of(kb: Knowledge, levels: Mapping[str, int]) -> str:
    """What has to go away: the start when the board does not start, else the complaint that says most.

    A board whose messages or settings can be seen does start. With no complaint at all a board that shows a
    normal start has no symptom, and any other is taken as one that does not start.
    """
    seen = [kb.observations[n] for n in levels]
    complaints = [o for o in seen if o.symptom and levels[o.id]]
    starts = any(o.needs_stage for o in seen)
    if complaints:
        return min(complaints, key=lambda o: o.symptom).id
    if any(o.by_stage and levels[o.id] for o in seen):
        return START
    normal = any(o.by_stage and o.id in ("o_screen", "o_card_code", "o_beeps") for o in seen)
    return NO_SYMPTOM if starts or normal else START


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


def _stop(kb: Knowledge, scored: Sequence[Scored], repair: RepairAdvice | None) -> str:
    """Why to leave testing, empty while a test, with what has to come before it, saves more than it costs."""
    if _pays(scored):
        return ""
    if repair is None:
        return (
            "no open test and no repair saves more than it costs: with these tools and this skill, leave it"
        )
    name = kb.faults[repair.fault].name.lower()
    return (
        f"no open test saves more than it costs: try the repair of {name} "
        f"({repair.minutes:g} min, {_percent(repair.p_blocks)} that it is a cause)"
    )


def _pays(scored: Sequence[Scored]) -> bool:
    """Whether a test, with what has to come before it, saves more than it costs."""
    minutes = {s.o.id: s.minutes for s in scored}
    return any(s.drop > s.minutes + sum(minutes.get(n, 0.0) for n in s.way.needs) for s in scored)


def _percent(p: float) -> str:
    return "over 98 %" if p > 0.985 else f"{p * 100:.0f} %"


def _look_first(kb: Knowledge, work: Work, fitted: Fitted) -> tuple[str, ...]:
    """What is worth a look before anything else because it rules faults in and out."""
    name = "o_look_clock_part"
    if fitted.clock is not None or name in work.held.levels or name not in work.net.nodes:
        return ()
    weight = sum(float(work.base.sole[work.net.index[f]]) for f in kb.group_faults if f in work.net.index)
    if weight / work.base.z < 0.05:
        return ()
    o = kb.observations[name]
    return (f"{o.name}: {o.how}",)


def _marks(
    kb: Knowledge, work: Work, fitted: Fitted, bench: Bench, blocked: Sequence[Blocked]
) -> tuple[Mark, ...]:
    words = {SEVERAL: "several faults may be present at once", EXACTLY_ONE: "exactly one fault, as you said"}
    mode = EXACTLY_ONE if work.one else SEVERAL
    marks = [Mark(level=Level.NOTE, code="faults.mode", text=f"mode: {words[mode]}")]
    if kb.learnt_from:
        text = f"rates moved by {kb.learnt_from} closed cases of yours; the tables count as ten boards"
    else:
        text = "all chances are judgement: no closed case of yours has moved them yet"
    marks.append(Mark(level=Level.NOTE, code="faults.rates", text=text))
    if bench.tools is None:
        text = (
            "you have not said which tools you have: taken are a multimeter and what is on a kitchen table; "
            'say it once: sick BOARD "tools: scope, post card, spare memory"'
        )
        marks.append(Mark(level=Level.NOTE, code="faults.tools", text=text))
    return (*_no_power(kb, work), *marks)


def _no_power(kb: Knowledge, work: Work) -> list[Mark]:
    """Readings that forbid power, with the repair that most likely opens the way again."""
    out = []
    for n, level in work.held.levels.items():
        o = kb.observations[n]
        if not level or o.phase > 5 or not any(n in r.needs for r in kb.rules.values()):
            continue
        read = o.outcomes[level].replace("_", " ")
        text = f"{o.name} read {read}: no power on this board until that is repaired"
        linked = [f for f in o.links if f in work.net.index and f in kb.faults]
        if linked:
            likely = max(linked, key=lambda f: work.base.present[work.net.index[f]])
            fault = kb.faults[likely]
            text += (
                f"; most likely {fault.name.lower()}: {fault.repair.action} ({fault.repair.minutes:g} min)"
            )
            text += ", then read it again"
        out.append(Mark(level=Level.RED, code="faults.no_power", text=text, refs=(n,)))
    return out
