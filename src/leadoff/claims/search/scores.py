"""Single figures, ranges, bounds, ranks, records, orders and extents, found by search."""

from __future__ import annotations

from leadoff.claims.search.scores_alone import able, lone
from leadoff.claims.search.scores_answers import answers
from leadoff.claims.search.scores_apart import apart
from leadoff.claims.search.scores_asked import in_full
from leadoff.claims.search.scores_extents import extents
from leadoff.claims.search.scores_figures import figures
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.scores_joint import joint
from leadoff.claims.search.scores_orders import orders
from leadoff.claims.search.scores_ranks import rank_of, ranks
from leadoff.claims.search.scores_spread import spread
from leadoff.claims.search.talk import Reading, Talk


def scores(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    talk = framed(talk)
    return _one(talk) or (None if talk.asks else joint(talk, _one))


def _one(talk: Talk) -> Reading | None:
    """A sentence with one claim."""
    if (r := orders(talk) or lone(talk) or able(talk) or apart(talk) or spread(talk)) is not None:
        return r
    if (full := in_full(talk)) is not None:
        return ranks(full, answer=True) or answers(talk)
    if rank_of(talk) is not None:
        return ranks(talk)
    return figures(talk) or answers(talk) or extents(talk)
