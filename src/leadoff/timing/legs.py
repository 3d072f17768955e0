"""The paths of a cache cycle, each as one inequality: clocks x period >= sum of delays.

Counting starts at the clock edge that begins the cycle, so a lead-off of N clocks gives N periods to the
edge that latches the data. Source: the method is that of Intel386 DX Hardware Reference Manual 231732,
section 6.2.7 (worst-case delays summed and compared with the bus cycle).
"""

from __future__ import annotations

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.timing.delays import BusAc, Family, SramDelays, TermName, Terms
from leadoff.timing.pattern import Pattern


class Leg(msgspec.Struct, frozen=True, kw_only=True):
    """One path. ``processor_ns`` and ``chip_ns`` are published maxima; ``terms`` are unpublished ones,
    by name with the share of each that counts."""

    name: str
    clocks: float
    processor_ns: float
    chip_ns: float
    terms: tuple[tuple[TermName, float], ...] = ()

    def room_ns(self, period_ns: float, terms: Terms, *, long_end: bool) -> float:
        """What is left for the chips: the largest chip delay that still fits. ``long_end`` is model B."""
        other = 0.0
        for name, share in self.terms:
            term = terms.of(name)
            other += share * (term.hi_ns if long_end else term.lo_ns)
        return self.clocks * period_ns - self.processor_ns - other

    def slack_ns(self, period_ns: float, terms: Terms, *, long_end: bool) -> float:
        """``room_ns`` less what the chips need; negative when the maxima do not fit."""
        return self.room_ns(period_ns, terms, long_end=long_end) - self.chip_ns


class CacheChips(msgspec.Struct, frozen=True, kw_only=True):
    """What is fitted: data SRAM, tag access time, a tag's own match time where it has one, banks."""

    sram: SramDelays
    tag_ns: float
    banks: int
    match_ns: float | None = None

    def __post_init__(self) -> None:
        if self.banks not in (1, 2, 4) or not 1.0 <= self.tag_ns <= 200.0:
            raise LeadoffError.one(
                "cache-chips-out-of-range",
                f"{self.banks} banks, {self.tag_ns:g} ns tag: 1, 2 or 4 banks and 1 to 200 ns are understood",
                where="cache",
                do="count the banks from the chips (four x8 chips are one bank of a 32-bit bus)",
            )


def read_legs(
    pattern: Pattern, *, family: Family, ac: BusAc, chips: CacheChips, terms: Terms
) -> tuple[Leg, ...]:
    """Paths of a read hit: first data, first hit decision, later beats by banks.

    A bus that cannot burst (386) runs each later beat as a cycle of its own, with all of the first paths.
    """
    _possible(pattern.lead, family)
    if not family.burst:
        _possible(pattern.rest, family)
    legs = list(_first(pattern.lead, "first", ac, chips, terms))
    if pattern.beats == 1:
        return tuple(legs)
    if not family.burst:
        return (*legs, *_first(pattern.rest, "next", ac, chips, terms))
    late: tuple[tuple[TermName, float], ...] = (("control", 1.0), ("skew", 1.0))
    legs.append(
        Leg(
            name="next data",
            clocks=pattern.rest * chips.banks,
            processor_ns=ac.data_setup_ns,
            chip_ns=chips.sram.taa_ns,
            terms=late,
        )
    )
    if chips.banks > 1:
        legs.append(
            Leg(
                name="next output enable",
                clocks=pattern.rest,
                processor_ns=ac.data_setup_ns,
                chip_ns=chips.sram.toe_ns,
                terms=late,
            )
        )
    return tuple(legs)


def write_legs(clocks: int, *, family: Family, ac: BusAc, chips: CacheChips, terms: Terms) -> tuple[Leg, ...]:
    """Paths of a write hit of ``clocks`` clocks.

    The write pulse may fire only after the tag compare, or a write miss would destroy another line; and
    the processor's data must be there for the SRAM's set-up time.
    """
    _possible(clocks, family)
    tag, decide = _tag(chips, terms)
    return (
        Leg(
            name="write pulse after tag",
            clocks=clocks,
            processor_ns=ac.address_valid_ns,
            chip_ns=tag + chips.sram.twp_ns,
            terms=(("buffer", 1.0), ("compare", decide), ("skew", 1.0)),
        ),
        Leg(
            name="write data",
            clocks=clocks - family.write_data_from_clocks,
            processor_ns=ac.write_data_valid_ns,
            chip_ns=chips.sram.tsd_ns,
        ),
    )


def _possible(clocks: int, family: Family) -> None:
    if clocks < family.shortest_cycle_clocks:
        raise LeadoffError.one(
            "pattern-impossible",
            f"a cycle of {clocks} clocks does not exist on a {family.id} bus: "
            f"{family.shortest_cycle_clocks} is the shortest"
            + ("" if family.burst else ", for every beat, since it cannot burst"),
            where="pattern",
            do="leave that pattern out",
        )


def _first(clocks: int, which: str, ac: BusAc, chips: CacheChips, terms: Terms) -> tuple[Leg, Leg]:
    tag, decide = _tag(chips, terms)
    return (
        Leg(
            name=f"{which} data",
            clocks=clocks,
            processor_ns=ac.address_valid_ns + ac.data_setup_ns,
            chip_ns=chips.sram.taa_ns,
            terms=(("buffer", 1.0), ("skew", 1.0)),
        ),
        Leg(
            name=f"{which} tag",
            clocks=clocks,
            processor_ns=ac.address_valid_ns + ac.ready_setup_ns,
            chip_ns=tag,
            terms=(("buffer", 1.0), ("compare", decide), ("skew", 1.0)),
        ),
    )


def _tag(chips: CacheChips, terms: Terms) -> tuple[float, float]:
    """Delay of the tag chip and the share of the compare term that remains beside it."""
    if chips.match_ns is None:
        return chips.tag_ns, 1.0
    return chips.match_ns, terms.report.rest_share
