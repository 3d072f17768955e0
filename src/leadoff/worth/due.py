"""What is due: which part unlocks which boards, which clock parts are old, which capacitors lay too long."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import msgspec

from leadoff.worth.rows import table

KINDS = {
    "capacitor": ("capacitor", "cap", "caps", "electrolytic", "electrolytics"),
    "module": ("module", "sealed"),
    "pack": ("pack", "nicd", "nimh", "rechargeable"),
    "cell": ("cell", "cr2032", "battery", "lithium"),
}
"""Kinds of things that age, by the words that name them."""
REFORM = "reform before full power"
HOW_TO_REFORM = (
    "to reform: look for a short first, then half an hour on a supply that limits the current, nothing fitted; "
    "a part alone gets its rated voltage through 1 kilohm for half an hour"
)
"""Source: the note of ``idle_years`` in due.toml; on a board its fixed rails make it the slow way."""
CLOCK_PARTS = ("cell", "module", "pack", "battery", "clock")


class Unlock(msgspec.Struct, frozen=True, kw_only=True):
    """One part to order: boards that wait for it alone, and boards that wait for more."""

    part: str
    unlocks: tuple[str, ...]
    helps: tuple[str, ...]


def years(name: str) -> float:
    """The value of one row of ``due.toml``."""
    return float(table("due")[name]["value"])


def unlocks(waiting: Mapping[str, Sequence[str]]) -> tuple[Unlock, ...]:
    """Parts by how many boards one order sets free; ``waiting``: board to the parts it waits for."""
    found: dict[str, tuple[list[str], list[str]]] = {}
    for board, parts in sorted(waiting.items()):
        for part in dict.fromkeys(parts):
            free, more = found.setdefault(part, ([], []))
            (free if len(set(parts)) == 1 else more).append(board)
    rows = [Unlock(part=p, unlocks=tuple(f), helps=tuple(m)) for p, (f, m) in found.items()]
    return tuple(sorted(rows, key=lambda u: (-len(u.unlocks), -len(u.helps), u.part)))


def kind_of(text: str) -> str:
    """What a thing is, as far as ageing goes; empty for everything else."""
    words = set(text.lower().replace("-", " ").split())
    return next((kind for kind, names in KINDS.items() if words & set(names)), "")


def clock_due(clock_part: str, made: date | None, today: date) -> str:
    """Words on a board's clock part by the day from which it can be; empty when nothing is due or known."""
    if not clock_part:
        return ""
    module = kind_of(clock_part) == "module"
    if made is None:
        return f"{clock_part}: age not known" + (", a module of the 1990s is presumed flat" if module else "")
    age = _years(made, today)
    limit = years({"module": "module_years", "pack": "pack_years"}.get(kind_of(clock_part), "cell_years"))
    if age <= limit:
        return ""
    what = "presumed flat" if module else "due: measure it, or take it out before it leaks"
    return f"{clock_part}: {age:.0f} years by date codes, {what}"


def capacitors_due(made: date | None, last_power: date | None, today: date) -> str:
    """Words on the electrolytics of a board: how long without voltage, how old, what to do before full power."""
    said = []
    idle = None if last_power is None else _years(last_power, today)
    if idle is None:
        said.append("no run in the book says when they last had voltage")
    elif idle > years("idle_years"):
        said.append(f"{idle:.1f} years without voltage")
    if made is not None and _years(made, today) > years("dry_years"):
        said.append(f"{_years(made, today):.0f} years old or less by date codes: measure them")
    waits = idle is None or idle > years("idle_years")
    if waits:
        said.append(REFORM)
    return "; ".join(said)


def stored_due(kind: str, made: date | None, today: date) -> str:
    """Words on a loose part that ages in a drawer."""
    if kind not in KINDS:
        return ""
    if made is None:
        return "age not known: write its date code"
    age = _years(made, today)
    if kind == "capacitor":
        if age <= years("idle_years"):
            return ""
        return f"{age:.0f} years in store: reform it before it is fitted"
    limit = years({"module": "module_years", "pack": "pack_years"}.get(kind, "stored_cell_years"))
    return (
        f"{age:.0f} years old: {'presumed flat' if kind == 'module' else 'measure it'}" if age > limit else ""
    )


def _years(since: date, today: date) -> float:
    return (today - since).days / 365.25
