"""Soaks, copies, starts, failures, symptoms, and what the book has or lacks, found by search."""

from __future__ import annotations

from leadoff.claims.search.talk import Reading, Talk


def trials(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    return None
