"""The next tests: by expected drop of repair, test and loss per minute, each after what safety asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from leadoff.faults.kinds import Knowledge, Observation
from leadoff.faults.needs import Safety, Way
from leadoff.faults.network import Network
from leadoff.faults.results import Act, Ahead, Outlook
from leadoff.faults.value import Prices, belief_cost
from leadoff.faults.values import Blocked, Caution, Lead, Proposal, Result

LEAST_RATE = 0.02
"""Minutes saved for each minute spent below which a test is not worth its name on the screen. Judgement."""
LEAST_SEEN = 0.5
"""A test is proposed only where the start more likely than not gets far enough to see it. Judgement."""


@dataclass(frozen=True, eq=False)
class Scored:
    """A test with its expected drop (minutes), its own minutes with parts, and the way to it."""

    o: Observation
    act: Act
    drop: float
    minutes: float
    way: Way


def score(
    kb: Knowledge, view: Ahead, now: float, price: Prices, safety: Safety, *, one: bool
) -> tuple[list[Scored], list[Blocked]]:
    """Every test that can be done, and those that would pay but cannot."""
    scored: list[Scored] = []
    blocked: list[Blocked] = []
    for act, drop, seen in zip(view.acts, drops(view, now, price, one=one), view.seen, strict=True):
        if seen < LEAST_SEEN:
            continue
        o = kb.observations[act.id]
        minutes = max(o.minutes + price.minutes_per_unit * o.cost, 0.25)
        why = safety.missing(o)
        way = safety.way(o)
        if why or way.blocked:
            if drop > minutes:
                reason = f"you have not said that you have: {why}" if why else way.blocked
                blocked.append(Blocked(test=o.id, name=o.name, why=reason))
            continue
        scored.append(Scored(o, act, drop, minutes, way))
    return scored, blocked


def drops(view: Ahead, now: float, price: Prices, *, one: bool) -> list[float]:
    """Expected drop of the cost of the belief (minutes) by each test, all of them in one go."""
    if not view.acts:
        return []
    given = view.blocks / np.maximum(view.chance, 1e-300)[:, None]
    after = view.chance * belief_cost(given, price, exclusive=one)
    return [max(now - float(x), 0.0) for x in np.add.reduceat(after, view.first)]


@dataclass(frozen=True)
class Ranked:
    """A scored test with its rate and the tests that it opens."""

    test: Scored
    rate: float
    opens: tuple[str, ...]


def rank(scored: Sequence[Scored]) -> list[Ranked]:
    """Best rate first, where a need takes the best rate of the chains it opens, and comes before them.

    A chain is a test with its unmet needs: the drops of all of them over all their minutes. The drops are
    added, which counts what two of them say alike twice; it is a look ahead, not a promise.
    """
    by_id = {s.o.id: s for s in scored}
    rate = {s.o.id: s.drop / s.minutes for s in scored}
    opens: dict[str, str] = {}
    for s in scored:
        needs = [by_id[n] for n in s.way.needs if n in by_id]
        if len(needs) < len(s.way.needs):
            rate[s.o.id] = 0.0
            continue
        if not needs:
            continue
        total = (s.drop + sum(n.drop for n in needs)) / (s.minutes + sum(n.minutes for n in needs))
        rate[s.o.id] = total
        for n in needs:
            if total > rate[n.o.id] or (total == rate[n.o.id] and n.o.id in opens):
                rate[n.o.id], opens[n.o.id] = total, s.o.id
    order: list[str] = []
    for s in sorted(scored, key=lambda s: (-rate[s.o.id], s.minutes, s.o.phase, s.o.id)):
        for name in (*s.way.needs, s.o.id):
            if name in by_id and name not in order:
                order.append(name)
    return [Ranked(by_id[n], rate[n], (opens[n],) if n in opens else ()) for n in order]


def proposal(kb: Knowledge, net: Network, r: Ranked, look: Outlook, before: Sequence[str]) -> Proposal:
    """The words and figures of one ranked test."""
    o = r.test.o
    return Proposal(
        test=o.id,
        name=o.name,
        how=o.how,
        expect=o.expect,
        tools=o.tools + tuple(f"proven {s.replace('_', ' ')}" for s in o.spares),
        minutes=o.minutes,
        cost=o.cost,
        worth_per_minute=r.rate,
        needs=tuple(n for n in r.test.way.needs if n in before),
        opens=r.opens,
        results=tuple(
            _result(kb, net, look, i, look.act)
            for i in np.argsort(-look.chance, kind="stable")
            if look.chance[i] > 1e-9
        ),
        cautions=cautions(kb, o.hazards),
        waived=r.test.way.waived,
    )


def _result(kb: Knowledge, net: Network, look: Outlook, i: int, act: Act) -> Result:
    levels = look.levels[i]
    names = [n.outcomes[k] for n, k in zip(act.nodes, levels, strict=True) if k] or [act.nodes[0].outcomes[0]]
    chance = float(look.chance[i])
    order = [j for j in np.argsort(-look.blocks[i], kind="stable") if net.names[j] in kb.faults][:3]
    leads = tuple(
        Lead(
            fault=net.names[j],
            p=float(look.sole[i, j]) / chance,
            p_blocks=float(look.blocks[i, j]) / chance,
            name=kb.faults[net.names[j]].name,
        )
        for j in order
    )
    return Result(result=" and ".join(names), p=chance, leads=leads)


def cautions(kb: Knowledge, ids: Sequence[str]) -> tuple[Caution, ...]:
    """Cautions with their publications, the most severe first."""
    rows = sorted((kb.hazards[h] for h in ids), key=lambda h: -h.severity)
    out = []
    for h in rows:
        s = kb.sources[h.source]
        out.append(Caution(id=h.id, severity=h.severity, text=h.text, source=f"{s.publication}, {s.place}"))
    return tuple(out)
