"""What is due: which part unlocks which boards, which clock parts are old."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import msgspec

MODULE_YEARS = 10
"""Years after which a sealed clock module is presumed flat (common practice, no source)."""
CELL_YEARS = 5
"""Years after which a coin cell or a pack is due (common practice, no source)."""


class Unlock(msgspec.Struct, frozen=True, kw_only=True):
    """One part to order: boards that wait for it alone, and boards that wait for more."""

    part: str
    unlocks: tuple[str, ...]
    helps: tuple[str, ...]


def unlocks(waiting: Mapping[str, Sequence[str]]) -> tuple[Unlock, ...]:
    """Parts by how many boards one order sets free; ``waiting``: board to the parts it waits for."""
    found: dict[str, tuple[list[str], list[str]]] = {}
    for board, parts in sorted(waiting.items()):
        for part in dict.fromkeys(parts):
            free, more = found.setdefault(part, ([], []))
            (free if len(set(parts)) == 1 else more).append(board)
    rows = [Unlock(part=p, unlocks=tuple(f), helps=tuple(m)) for p, (f, m) in found.items()]
    return tuple(sorted(rows, key=lambda u: (-len(u.unlocks), -len(u.helps), u.part)))


def clock_due(clock_part: str, not_before: date | None, today: date) -> str:
    """Words on the clock part, empty when nothing is known of it."""
    text = clock_part.lower()
    if not text:
        return ""
    module = "module" in text or "sealed" in text
    years = None if not_before is None else (today - not_before).days / 365.25
    limit = MODULE_YEARS if module else CELL_YEARS
    if years is None:
        return f"{clock_part}: age not known" + (", a module of the 1990s is presumed flat" if module else "")
    if years > limit:
        what = "presumed flat" if module else "due: measure it, or take it out before it leaks"
        return f"{clock_part}: {years:.0f} years by date codes, {what}"
    return ""
