"""Differences between two states, boards, display cards or evenings, and their causes, found by search."""

from __future__ import annotations

from leadoff.claims.search.talk import Reading, Talk


def effects(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    return None
