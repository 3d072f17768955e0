"""Cycle patterns such as 2-1-1-1: lead-off and later beats, in bus clocks."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from leadoff.record.errors import LeadoffError


class Pattern(msgspec.Struct, frozen=True, order=True):
    """A lead-off of ``lead`` clocks and ``beats - 1`` further beats of ``rest`` clocks each."""

    lead: int
    rest: int
    beats: int = 4

    @classmethod
    def parse(cls, text: str) -> Pattern:
        """Read ``2-1-1-1`` (all later beats alike) or a single count such as ``3``."""
        parts = text.strip().lower().split("-")
        counts = [int(p) for p in parts if p.isdecimal()]
        if len(counts) != len(parts) or min(counts) < 1 or len(set(counts[1:])) > 1:
            raise LeadoffError.one(
                "pattern-not-understood",
                f"pattern {text!r} is not a lead-off followed by equal beats",
                where="pattern",
                do="write it as 2-1-1-1 or 3-2-2-2, or as a single count for one beat",
            )
        return cls(lead=counts[0], rest=counts[1] if len(counts) > 1 else counts[0], beats=len(counts))

    @property
    def text(self) -> str:
        """The pattern as people write it."""
        return "-".join(str(n) for n in (self.lead, *(self.rest,) * (self.beats - 1)))

    @property
    def clocks(self) -> int:
        """Bus clocks from the start of the first beat's cycle to the last beat."""
        return self.lead + self.rest * (self.beats - 1)


def every_pattern(leads: Iterable[int], rests: Iterable[int], *, beats: int = 4) -> tuple[Pattern, ...]:
    """All combinations in which a later beat is not slower than the lead-off, fastest first."""
    found = [Pattern(lead, rest, beats) for lead in leads for rest in rests if rest <= lead]
    return fastest_first(found)


def fastest_first(patterns: Iterable[Pattern]) -> tuple[Pattern, ...]:
    """Sorted by total clocks, then by lead-off: a short lead-off also serves single reads."""
    return tuple(sorted(set(patterns), key=lambda p: (p.clocks, p.lead, p.rest)))
