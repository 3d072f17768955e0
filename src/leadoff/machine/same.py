"""When two states are the same state."""

from __future__ import annotations

from leadoff.record.state import State

CIRCUMSTANCES = frozenset({"temp_c"})
"""Circumstances of a run that are kept with the settings but are not set by anybody."""


def differing(a: State, b: State) -> tuple[str, ...]:
    """Names of the settings whose value differs, unknown against known included."""
    names = (set(a.settings) | set(b.settings)) - CIRCUMSTANCES
    return tuple(sorted(n for n in names if a.value(n) != b.value(n)))


def same_state(a: State, b: State) -> bool:
    """Whether every setting has the same value, or is unknown, in both."""
    return a.board == b.board and not differing(a, b)
