"""Jumpers and set-up entries whose name is that of a setting: their positions are the setting's values."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.machine.tomlwalk import Walk
from leadoff.record.settings import SETTINGS

Sets = Mapping[str, Mapping[str, str]]


def as_values(
    walk: Walk, name: str, positions: tuple[str, ...], sets: Sets, own: Mapping[str, str]
) -> tuple[tuple[str, ...], Sets]:
    """Positions and effects of a carrier, renamed to values where it is called like the setting it sets.

    ``own`` are the values that its positions read as by themselves. So ``cas`` with the choices 2 and 3 is
    one thing, not a position and a setting that may disagree. A name that is another setting's is a mistake.
    """
    if name not in SETTINGS:
        return positions, sets
    if not sets:
        sets = {name: own}
    values = sets.get(name)
    if values is None:
        walk.wrong("id", f'"{name}" is the name of a setting that it does not set', _other(name))
        return positions, sets
    if len(set(values.values())) < len(values):
        walk.wrong(
            "id", f'"{name}" is the name of a setting, and two of its choices set the same', _other(name)
        )
        return positions, sets
    renamed = {p: values.get(p, p) for p in positions}
    return tuple(renamed[p] for p in positions), {
        setting: {renamed[p]: v for p, v in by_position.items()} for setting, by_position in sets.items()
    }


def _other(name: str) -> str:
    return f"give it an id of its own, such as {name}_entry"
