"""What may stand in for what, said with its condition, its test and what is not known. Wrong advice destroys."""

from __future__ import annotations

import msgspec

from leadoff.faults.kinds import Knowledge, Route, Substitute
from leadoff.record.errors import LeadoffError


class Advice(msgspec.Struct, frozen=True, kw_only=True):
    """Rows that fit the question, ways to do it, and what has to be said when no row fits."""

    rows: tuple[Substitute, ...]
    ways: tuple[Route, ...]
    unknown: str


def substitutes(kb: Knowledge, kind: str, *, have: str = "", want: str = "") -> Advice:
    """Advice for a ``kind`` (clock_module, cell, cache, tag, memory, crystal, regulator, capacitor).

    ``have`` and ``want`` narrow the rows by their words; no row that fits means not known, never yes. Raises
    ``LeadoffError`` for a kind that has no table.
    """
    kinds = {s.kind for s in kb.substitutes.values()}
    if kind not in kinds:
        text = f"there is no table of substitutes for {kind!r}; a guess could destroy the board"
        raise LeadoffError.one("faults.substitute", text, do=f"ask for one of {', '.join(sorted(kinds))}")
    rows = tuple(
        s for s in kb.substitutes.values() if s.kind == kind and _fits(have, s.have) and _fits(want, s.want)
    )
    ways = tuple(w for w in kb.ways.values() if w.kind == kind)
    unknown = (
        "" if rows else f"not known whether {have or 'it'} may stand in for {want or kind.replace('_', ' ')}"
    )
    return Advice(rows=rows, ways=ways, unknown=unknown)


def _fits(asked: str, text: str) -> bool:
    return all(word in text.lower() for word in asked.lower().replace("-", " ").split() if word) or (
        asked.lower() in text.lower()
    )
