"""Synchronous burst SRAM: the chip counts the beats itself, so only its own clock-to-data time matters."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.timing.belief import Belief, prior
from leadoff.timing.clocks import Clock
from leadoff.timing.delays import Certainty, Terms, budget_terms, bus_ac, bus_family, worst_certainty
from leadoff.timing.legs import Leg
from leadoff.timing.pattern import Pattern, fastest_first
from leadoff.timing.verdict import PatternVerdict, judge


class BurstSram(msgspec.Struct, frozen=True, kw_only=True):
    """Clock to data, address set-up and shortest period of a burst SRAM, ns.

    ``pipelined`` parts have an output register: the first data comes one clock later, each beat sooner.
    """

    clock_to_data_ns: float
    address_setup_ns: float
    pipelined: bool = True
    cycle_ns: float = 0.0
    source: str = ""
    certainty: Certainty = "memory"


def burst_patterns(
    *,
    clock_mhz: Clock,
    sram: BurstSram,
    tag_ns: float,
    bus: str = "64bit",
    expressible: Iterable[Pattern] = (Pattern(3, 1),),
    terms: Terms | None = None,
    rated_bus_mhz: Clock | None = None,
    belief: Belief | None = None,
    temp_c: float = 25.0,
    volts_pct: float = 0.0,
) -> tuple[PatternVerdict, ...]:
    """Both answers for burst SRAM patterns; by default 3-1-1-1, the one that such boards use.

    The address goes straight to the chips (no buffer) and must meet their set-up one clock after the cycle
    starts; the hit decision has the whole lead-off; each beat takes clock-to-data. A lead-off of 2 is
    refused for pipelined parts, whose register alone costs one clock.
    Source: 3-1-1-1 for reads and writes in HP Vectra VE 5/xxx Series 4 technical reference p. 19.
    """
    family = bus_family(bus)
    ac = bus_ac(family.id, clock_mhz if rated_bus_mhz is None else rated_bus_mhz)
    held = belief or prior(terms or budget_terms())
    found = []
    for pattern in fastest_first(expressible):
        if sram.pipelined and pattern.lead < 3:
            raise LeadoffError.one(
                "burst-lead-too-short",
                f"{pattern.text} starts in clock {pattern.lead}; a pipelined part answers in clock 3",
                where="pattern",
                do="use 3-1-1-1 or slower",
            )
        legs = (
            Leg(
                name="first address",
                clocks=1,
                processor_ns=ac.address_valid_ns,
                chip_ns=sram.address_setup_ns,
                terms=(("skew", 1.0),),
            ),
            Leg(
                name="first tag",
                clocks=pattern.lead,
                processor_ns=ac.address_valid_ns + ac.ready_setup_ns,
                chip_ns=tag_ns,
                terms=(("buffer", 1.0), ("compare", 1.0), ("skew", 1.0)),
            ),
            Leg(
                name="next data",
                clocks=pattern.rest,
                processor_ns=ac.data_setup_ns,
                chip_ns=sram.clock_to_data_ns,
                terms=(("skew", 1.0),),
            ),
            # the chip is clocked once a bus clock whatever the pattern
            Leg(name="chip clock", clocks=1, processor_ns=0.0, chip_ns=sram.cycle_ns),
        )
        found.append(
            judge(
                kind="burst",
                pattern=pattern,
                legs=legs,
                clock=clock_mhz,
                belief=held,
                certainty=worst_certainty(ac.certainty, sram.certainty),
                refs=(ac.source, sram.source) if sram.source else (ac.source,),
                temp_c=temp_c,
                volts_pct=volts_pct,
            )
        )
    return tuple(found)


def back_to_back(banks: int) -> str:
    """Two bursts in a row on pipelined burst SRAM: one bank goes on at once, two banks turn around.

    Source: HP Vectra VE 5/xxx Series 4 technical reference p. 19 and VL 5/xxx Series 5 p. 24.
    """
    if banks not in (1, 2):
        raise LeadoffError.one(
            "burst-banks",
            f"{banks} banks of burst SRAM: only 1 and 2 are described",
            where="banks",
            do="count the banks",
        )
    return "3-1-1-1,1-1-1-1" if banks == 1 else "3-1-1-1,2-1-1-1"
