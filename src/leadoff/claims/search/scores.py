"""Single figures, ranges, bounds, ranks, records, orders and extents, found by search."""

from __future__ import annotations

from leadoff.claims.search.scores_alone import lone
from leadoff.claims.search.scores_answers import answers
from leadoff.claims.search.scores_ends import ends
from leadoff.claims.search.scores_extents import extents
from leadoff.claims.search.scores_figures import figures
from leadoff.claims.search.scores_frame import framed
from leadoff.claims.search.scores_orders import orders
from leadoff.claims.search.scores_ranks import ranks
from leadoff.claims.search.talk import Reading, Talk


def scores(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    talk = framed(talk)
    searches = (orders, lone, figures, ranks, ends, answers, extents)
    return next((r for search in searches if (r := search(talk)) is not None), None)
