"""Rates move with the user's closed cases: the tables count as about ten boards (Beta and Dirichlet)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from leadoff.faults.kinds import Kind, Knowledge
from leadoff.faults.values import Case

WORTH_BOARDS = 10.0
"""How many boards the judgement of the tables is worth. Judgement."""


def learn(kb: Knowledge, cases: Sequence[Case]) -> Knowledge:
    """The tables after closed ``cases`` of one era (others are ignored with their era's rates untouched).

    A prior of p becomes (10 p + cases with the fault) / (10 + cases); a link moves only by cases with that
    one fault, since with more the outcome has no single owner. The leak stays in such counts, which makes
    links a little too strong: small where baselines are small.
    """
    if not cases:
        return kb
    eras = {c.era for c in cases}
    faults = dict(kb.faults)
    for era in eras:
        here = [c for c in cases if c.era == era]
        seen = Counter(f for c in here for f in set(c.faults))
        for name, f in faults.items():
            if f.prior[era] > 0:
                p = (WORTH_BOARDS * f.prior[era] + seen[name]) / (WORTH_BOARDS + len(here))
                faults[name] = replace(f, prior={**f.prior, era: p})
    observations = dict(kb.observations)
    for name, o in observations.items():
        links = {f: _link(o.outcomes, f, tail, name, cases) for f, tail in o.links.items()}
        if links != o.links:
            observations[name] = replace(o, links=links)
    groups = {g.id: replace(g, kind=tuple(_kind(k, cases) for k in g.kind)) for g in kb.groups.values()}
    return replace(
        kb, faults=faults, observations=observations, groups=groups, learnt_from=kb.learnt_from + len(cases)
    )


def _link(
    outcomes: Sequence[str], fault: str, tail: tuple[float, ...], name: str, cases: Sequence[Case]
) -> tuple[float, ...]:
    seen = Counter(
        f.outcome for c in cases if set(c.faults) == {fault} for f in c.findings if f.observation == name
    )
    total = sum(seen.values())
    if not total:
        return tail
    return tuple(
        (WORTH_BOARDS * p + seen[outcome]) / (WORTH_BOARDS + total)
        for p, outcome in zip(tail, outcomes[1:], strict=True)
    )


def _kind(kind: Kind, cases: Sequence[Case]) -> Kind:
    """Levels learn only from cases in which one of the kind's own faults shows that it was fitted."""
    levels: dict[str, Mapping[str, float]] = {f: dict(p) for f, p in kind.levels.items()}
    for c in cases:
        for f in c.faults:
            if f in levels:
                for other in levels:
                    p = levels[other][c.era]
                    hit = 1.0 if other == f else 0.0
                    levels[other] = {**levels[other], c.era: (WORTH_BOARDS * p + hit) / (WORTH_BOARDS + 1)}
    return replace(kind, levels=levels)
