"""Fast-page and EDO memory: page hits, row misses, page misses."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.timing.belief import Belief, prior
from leadoff.timing.clocks import Clock, clocks_for
from leadoff.timing.delays import BusAc, Certainty, Terms, budget_terms, bus_ac, bus_family, worst_certainty
from leadoff.timing.legs import Leg
from leadoff.timing.pattern import Pattern, every_pattern, fastest_first
from leadoff.timing.verdict import PatternVerdict, judge


class DramDelays(msgspec.Struct, frozen=True, kw_only=True):
    """Delays of a memory grade, ns. ``cycle_ns`` is tPC for fast page, tHPC for EDO; ``trcd_ns`` defaults to
    tRAC - tCAC, the longest RAS-to-CAS time that still gives the data at tRAC."""

    kind: Literal["fpm", "edo"]
    trac_ns: float
    tcac_ns: float
    taa_ns: float
    cycle_ns: float
    trp_ns: float
    trcd_ns: float | None = None
    source: str = ""
    certainty: Certainty = "memory"

    @property
    def row_to_column_ns(self) -> float:
        """The RAS-to-CAS time to plan with."""
        return self.trac_ns - self.tcac_ns if self.trcd_ns is None else self.trcd_ns


class DramAdds(msgspec.Struct, frozen=True, kw_only=True):
    """Clocks of the two steps and of a beat: row miss = hit + ``rcd``, page miss = row miss + ``rp``."""

    beat: int
    rcd: int
    rp: int


def additive(page_hit: Pattern, *, rcd: int, rp: int) -> tuple[Pattern, Pattern, Pattern]:
    """Page hit, row miss (bank closed) and page miss from the hit and two clock counts.

    Source: HP Vectra VL 5/xxx Series 5 technical reference p. 24 (5/8/11 with 3 and 3).
    """
    if rcd < 0 or rp < 0:
        raise LeadoffError.one(
            "negative-clocks",
            f"rcd {rcd} and rp {rp} clocks: a step takes time",
            where="rcd, rp",
            do="give the chipset's clock counts, 0 or more",
        )
    row = msgspec.structs.replace(page_hit, lead=page_hit.lead + rcd)
    return page_hit, row, msgspec.structs.replace(row, lead=row.lead + rp)


def dram_adds(*, clock_mhz: Clock, dram: DramDelays, ways: int = 1) -> DramAdds:
    """Fewest clocks for a beat, for RAS to CAS and for precharge: ceil(time x clock).

    ``ways`` is 2 when two banks are interleaved: a bank then has two beats' time.
    """
    if ways not in (1, 2, 4):
        raise LeadoffError.one(
            "ways-out-of-range",
            f"{ways} interleaved banks: 1, 2 and 4 are understood",
            where="ways",
            do="give 1 when the memory is not interleaved",
        )
    return DramAdds(
        beat=max(1, -(-clocks_for(dram.cycle_ns, clock_mhz) // ways)),
        rcd=clocks_for(dram.row_to_column_ns, clock_mhz),
        rp=clocks_for(dram.trp_ns, clock_mhz),
    )


def page_hits(
    *,
    bus: str,
    clock_mhz: Clock,
    dram: DramDelays,
    ways: int = 1,
    expressible: Iterable[Pattern] | None = None,
    terms: Terms | None = None,
    rated_bus_mhz: Clock | None = None,
    belief: Belief | None = None,
    temp_c: float = 25.0,
    volts_pct: float = 0.0,
) -> tuple[PatternVerdict, ...]:
    """Both answers for page-hit patterns, fastest first; default lead-offs 2 to 8, beats 1 to 4.

    Two paths for the first data (column address to data; page decision, then CAS to data), one for each
    beat. The page decision and the CAS output are unpublished, so ``compare`` and ``control`` of the cache
    budget stand in for them (a judgement): row and page misses then follow from ``additive``.
    """
    family = bus_family(bus)
    ac = bus_ac(family.id, clock_mhz if rated_bus_mhz is None else rated_bus_mhz)
    held = belief or prior(terms or budget_terms())
    wanted = every_pattern(range(2, 9), range(1, 5)) if expressible is None else fastest_first(expressible)
    return tuple(
        judge(
            kind="page hit",
            pattern=p,
            legs=_legs(p, ac, dram, ways),
            clock=clock_mhz,
            belief=held,
            certainty=worst_certainty(ac.certainty, dram.certainty),
            assumed=("page decision and CAS output taken like the cache's",),
            refs=(ac.source, dram.source) if dram.source else (ac.source,),
            temp_c=temp_c,
            volts_pct=volts_pct,
        )
        for p in wanted
    )


def _legs(pattern: Pattern, ac: BusAc, dram: DramDelays, ways: int) -> tuple[Leg, ...]:
    return (
        Leg(
            name="column address to data",
            clocks=pattern.lead,
            processor_ns=ac.address_valid_ns + ac.data_setup_ns,
            chip_ns=dram.taa_ns,
            terms=(("buffer", 1.0), ("control", 1.0), ("skew", 1.0)),
        ),
        Leg(
            name="CAS to data",
            clocks=pattern.lead,
            processor_ns=ac.address_valid_ns + ac.data_setup_ns,
            chip_ns=dram.tcac_ns,
            terms=(("buffer", 1.0), ("compare", 1.0), ("control", 1.0), ("skew", 1.0)),
        ),
        Leg(name="beat", clocks=pattern.rest * ways, processor_ns=0.0, chip_ns=dram.cycle_ns),
    )
