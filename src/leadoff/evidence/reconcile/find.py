"""All conflicts of a board: what was declared against what was seen, one cause told once."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from leadoff.evidence.facts import Fact
from leadoff.evidence.reconcile.caches import cache_drafts
from leadoff.evidence.reconcile.clocks import clock_drafts
from leadoff.evidence.reconcile.parts import part_drafts
from leadoff.evidence.reconcile.rest import rest_drafts
from leadoff.evidence.reconcile.values import Case, Conflict, CoresOf, Draft
from leadoff.evidence.reconcile.weigh import weighed
from leadoff.forecast.facts import Setup

FINDERS: tuple[Callable[[Case], Iterator[Draft]], ...] = (
    part_drafts,
    clock_drafts,
    cache_drafts,
    rest_drafts,
)


def reconcile(setup: Setup, facts: Sequence[Fact], cores_of: CoresOf) -> tuple[Conflict, ...]:
    """Conflicts between a board's state and the facts that were seen of it, the highest rank first.

    ``facts`` in the order in which they were learnt; the state is never changed here.
    """
    case = Case(setup=setup, facts=tuple(facts), cores_of=cores_of)
    found = [weighed(draft) for finder in FINDERS for draft in finder(case)]
    return tuple(sorted(found, key=lambda c: (c.cosmetic, -c.rank.height)))
