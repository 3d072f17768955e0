"""Single figures, ranges, bounds, ranks and records, found by search."""

from __future__ import annotations

from leadoff.claims.search.talk import Reading, Talk


def scores(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    return None
