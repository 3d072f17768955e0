"""Which evidence still counts: a move ends what was seen of the settings that it changes."""

from __future__ import annotations

from collections.abc import Iterable

from leadoff.machine.effects import carriers
from leadoff.record.board import BoardSheet
from leadoff.record.entries import FactBody
from leadoff.record.evidence import Fact
from leadoff.record.moves import Change

EVIDENCE = "evidence"
"""Name of the facts entry that holds what one file said."""

_CLOCKS = frozenset({"bus_mhz", "ratio", "can_mhz", "cpu", "core_mhz", "turbo", "interposer"})
_OF_CPU = frozenset({"cpu", "l1", "l1_policy"})


class Seen:
    """Evidence of one board in the order of the book, without what a later move made old."""

    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def take(self, body: FactBody) -> None:
        """A facts entry; only evidence from files counts here."""
        if body.name == EVIDENCE:
            self.facts += body.facts

    def moved(self, sheet: BoardSheet, changes: Iterable[Change]) -> None:
        """A move: what was seen of the settings it acts on counts no more."""
        names = {c.name for c in changes}
        if not names:
            return
        options = {o.id for o in sheet.options}
        acted = names | {s for c in carriers(sheet) if c.id in names for s in c.sets}
        ended = set(acted)
        if acted & _CLOCKS:
            ended |= {"core_mhz"} | ({"bus_mhz"} if acted & {"can_mhz", "bus_mhz"} else set())
        if "cpu" in acted:
            ended |= _OF_CPU
        if any(n.startswith("ram.") for n in acted):
            ended |= {"ram_mb", "ram_type"}
        old = tuple(p for p, gone in (("cpu.", "cpu" in acted), ("cmos.", bool(names & options))) if gone)
        self.facts = [f for f in self.facts if f.setting not in ended and not (old and f.key.startswith(old))]
