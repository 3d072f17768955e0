"""What is named as the cause of a difference must be the one thing in which the sides differ."""

from __future__ import annotations

from leadoff.claims.search.effects_claim import CORE, FAINT, Claim
from leadoff.claims.search.effects_mentions import Heard, Need
from leadoff.claims.search.effects_pairs import Duo, Scene
from leadoff.claims.search.effects_roles import CLEFT
from leadoff.claims.search.effects_told import DESIGNATES
from leadoff.claims.search.effects_unrun import untested
from leadoff.claims.spoken.changes import family, several
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.spoken.weigh import weigh
from leadoff.claims.standings import Cell

V = Verdict


def by_cause(found: Finding, a: Cell, b: Cell, d: Duo, claim: Claim, h: Heard, scene: Scene) -> Finding:
    """A finding on two states in the light of what is named as the cause; untested where more than that changed."""
    named = claim.caused
    if named == frozenset():
        single = any(d.differ <= family(frozenset({x})) for x in d.differ)
        spoken = frozenset(x for n in scene.wants for x in n.dims) | {"rig"}
        return found if single and d.differ <= spoken else several(a, b, d.workload)
    if named is None:
        agents = [n for n in h.of("want") if d.within and not n.place and "*" not in n.dims]
        if d.differ <= _two_valued(scene) and claim.way in ("better", "worse", "tie") and not claim.only:
            # Of two states that are compared the one is named by what it is.
            plain = any(x.start == claim.at and not FAINT.match(x.text) for x in h.hits)
            agents = [n for n in agents if not (plain and _designates(n) and _is_said(h, n, claim.at))]
        blamed = CLEFT.search(h.low) is not None
        if any(n.role == "ref" and n.valued for n in h.of("want")) and not claim.only and not blamed:
            agents = []
        if d.differ and d.differ <= _two_valued(scene) and all(n.valued for n in agents) and not claim.only:
            agents = []  # two states are compared, and neither is said to be the cause
        named = frozenset(x for n in agents for x in n.dims) if agents else None
        if named is not None and not family(named) & d.differ:
            return untested(d.workload, a.board, f"was run with one value only of {', '.join(sorted(named))}")
    if named is None or found.verdict is V.NOT_COMPARABLE:
        return found
    one, two = a.trials[0].settings, b.trials[0].settings
    unknown = any(x.get(n) is None for x in (one, two) for n in d.differ - {"rig"})
    # What nobody noted on one side, and somebody on the other, may have been the cause.
    unknown = unknown or (
        d.within and any((one[n] is None) != (two[n] is None) for n in one.keys() & two.keys())
    )
    unknown = unknown or (named >= CORE and "bus_mhz" in d.differ)  # the bus moved the core with it
    rest = d.differ - family(named) - {"rig"} if "rig" in named else d.differ - family(named)
    if unknown or rest:
        p = weigh(scene.ev, a, b, d.workload).pair
        if (found.verdict is V.WITHIN_NOISE and p is not None and p.tied) or not d.within:
            return found
        return several(a, b, d.workload)
    return found


def _is_said(h: Heard, n: Need, at: int) -> bool:
    """Whether nothing between a setting and the claim says that it made something of another."""
    return n.at < at and not any(x.kind in ("differ", "cause") and n.at < x.start < at for x in h.hits)


def _designates(n: Need) -> bool:
    return n.want is not None and DESIGNATES.match(n.want.text) is not None


def _two_valued(scene: Scene) -> frozenset[str]:
    """Settings of which two values were said."""
    values: dict[str, set[str]] = {}
    for n in scene.wants:
        if n.valued and n.want is not None:
            for name, _, value in n.want.tests:
                values.setdefault(name, set()).add(value)
    return frozenset(name for name, had in values.items() if len(had) > 1)
