"""Findings, board and tables made ready for one diagnosis: folded, the symptom chosen, the network solved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from leadoff.faults.evidence import Evidence, gather
from leadoff.faults.fitted import absent_faults, kind_of
from leadoff.faults.fold import Held, fold
from leadoff.faults.kinds import Knowledge
from leadoff.faults.network import Network, build
from leadoff.faults.products import LIMIT, Answer
from leadoff.faults.solver import solve
from leadoff.faults.values import EXACTLY_ONE, NO_SYMPTOM, SEVERAL, START, Finding, Fitted
from leadoff.record.errors import LeadoffError


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
    odds, left = _odds(kb, listing), _left(kb, held.repaired)
    net = _network(kb, era, kind, absent_faults(fitted), odds, left)
    levels = {n: v for n, v in held.levels.items() if n in net.nodes}
    swaps = {n: v for n, v in held.swaps.items() if n in net.nodes}
    symptom = symptom_of(kb, levels, held.pending)
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
    kb: Knowledge,
    era: str,
    kind: str | None,
    absent: frozenset[str],
    odds: Mapping[str, float],
    left: Mapping[str, float],
) -> Network:
    """The network, kept with the tables: the next question on the same board finds it ready."""
    nets: dict[object, Network] = kb.memo.setdefault("networks", {})
    key = (era, kind, absent, tuple(f for f in odds.items() if f[1] != 1), frozenset(left.items()))
    if key not in nets:
        if len(nets) >= MOST_NETWORKS:
            nets.clear()
        nets[key] = build(kb, era, kind=kind, absent=absent, odds=odds, left=left)
    return nets[key]


MOST_NETWORKS = 200
"""Networks kept ready: about a quarter of a megabyte each."""


def _odds(kb: Knowledge, listing: Sequence[str]) -> Mapping[str, float]:
    odds = dict.fromkeys(kb.faults, 1.0)
    for name in listing:
        row = kb.listing.get(name)
        if row is None:
            text = f"{name!r} is not among the seller's words of the tables"
            raise LeadoffError.one("faults.listing", text, do=f"use {', '.join(kb.listing)}")
        for f in kb.faults.values():
            odds[f.id] *= row.odds.get(f.group, row.odds.get("all", 1.0))
    return odds


def _left(kb: Knowledge, repaired: Sequence[str]) -> Mapping[str, float]:
    """The share of each fault's chance that its repairs, one after the other, leave."""
    left: dict[str, float] = {}
    for fault in repaired:
        left[fault] = left.get(fault, 1.0) * (1 - kb.faults[fault].repair.success)
    return left


NOTHING_PENDING: Mapping[str, int] = {}


def symptom_of(kb: Knowledge, levels: Mapping[str, int], pending: Mapping[str, int] = NOTHING_PENDING) -> str:
    """What has to go away: the start when the board does not start, else the complaint that says most.

    A board whose messages or settings can be seen does start. With no complaint at all a board that shows a
    normal start has no symptom, and any other is taken as one that does not start, unless all that it was
    repaired for (``pending``, not seen since) was a complaint about a board that starts.
    """
    seen = [kb.observations[n] for n in levels]
    complaints = [o for o in seen if o.symptom and levels[o.id]]
    starts = any(o.needs_stage for o in seen)
    starts = starts or (bool(pending) and all(kb.observations[n].symptom for n in pending))
    if complaints:
        return min(complaints, key=lambda o: o.symptom).id
    if any(o.by_stage and levels[o.id] for o in seen):
        return START
    normal = any(o.by_stage and o.id in ("o_screen", "o_card_code", "o_beeps") for o in seen)
    return NO_SYMPTOM if starts or normal else START
