"""Single figures, ranges, bounds, ranks, records, orders, days and extents, found by search."""

from __future__ import annotations

from leadoff.claims.search.scores_days import days
from leadoff.claims.search.scores_extents import extents
from leadoff.claims.search.scores_figures import figures
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.scores_orders import orders
from leadoff.claims.search.scores_ranks import ranks
from leadoff.claims.search.talk import Reading, Talk


def scores(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    talk = framed(talk)
    return orders(talk) or days(talk) or figures(talk) or ranks(talk) or extents(talk)
