"""Moves: changes of state with minutes, power, reversibility and hazard."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """One setting changed. ``before`` and ``after`` are canonical text, ``None`` when not known."""

    name: str
    before: str | None
    after: str | None
    said: str = ""
    measured: bool = False


class Move(msgspec.Struct, frozen=True, kw_only=True):
    """One act of a person at the bench, numbered in the order in which it is safe to do it."""

    n: int
    what: str
    minutes: float
    power_off: bool
    reversible: bool = True
    hazard: str = ""
    changes: Mapping[str, str] = {}
