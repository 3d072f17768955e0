"""Marks: what a person must see beside a result. They warn and never forbid."""

from __future__ import annotations

from enum import StrEnum

import msgspec


class Level(StrEnum):
    """Red stops a careful person, amber asks for a look, green was checked, a note informs."""

    RED = "red"
    AMBER = "amber"
    GREEN = "green"
    NOTE = "note"


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """One mark. ``code`` is stable and meant for programs, ``text`` for people."""

    level: Level
    code: str
    text: str
    refs: tuple[str, ...] = ()
