"""Single figures, ranges, bounds, ranks, records, orders and extents, found by search."""

from __future__ import annotations

from leadoff.claims.search.effects_told import only_the_difference
from leadoff.claims.search.scores_alone import able, lone
from leadoff.claims.search.scores_answers import answers
from leadoff.claims.search.scores_apart import apart
from leadoff.claims.search.scores_asked import in_full
from leadoff.claims.search.scores_counts import counted, number_asked
from leadoff.claims.search.scores_extents import extents
from leadoff.claims.search.scores_figures import figures
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.scores_joint import joint
from leadoff.claims.search.scores_listed import listed
from leadoff.claims.search.scores_orders import orders
from leadoff.claims.search.scores_ranks import rank_of, ranks
from leadoff.claims.search.scores_scatter import scatter
from leadoff.claims.search.scores_shared import shared
from leadoff.claims.search.scores_spread import spread
from leadoff.claims.search.scores_unbeaten import unbeaten
from leadoff.claims.search.scores_unknown import no_such_first, unknown_run
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.values import Finding, Verdict

_NARROW = (unbeaten, shared, orders, lone, able, apart, spread, scatter, counted)
"""Each reads one form of claim and nothing else."""


def scores(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    talk = framed(talk)
    if only_the_difference(talk):
        return None
    talk = number_asked(talk) or talk
    return _one(talk) or (None if talk.asks else joint(talk, _one))


def _one(talk: Talk) -> Reading | None:
    """A sentence with one claim."""
    if run := unknown_run(talk):
        return Reading(finding=Finding(verdict=Verdict.NOT_FOUND, why=f"no run {run} in the book"), sure=True)
    for search in _NARROW:
        if (r := search(talk)) is not None:
            return r
    if (full := in_full(talk)) is not None:
        return ranks(full, answer=True) or answers(talk)
    if rank_of(talk) is not None:
        return no_such_first(talk) or ranks(talk)
    return listed(talk) or figures(talk) or answers(talk) or extents(talk)
