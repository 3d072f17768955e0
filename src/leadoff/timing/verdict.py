"""Two answers for each pattern, never mixed: inside the maximum delays, and the chance to hold."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import Literal

import msgspec

from leadoff.record.quantity import Quantity, Source
from leadoff.timing.belief import Belief, prior
from leadoff.timing.clocks import ZERO_NS, Clock, period_ns
from leadoff.timing.delays import (
    BusAc,
    Certainty,
    Family,
    SramDelays,
    Terms,
    budget_terms,
    bus_ac,
    bus_family,
    sram_of_grade,
    worst_certainty,
)
from leadoff.timing.legs import CacheChips, Leg, read_legs, write_legs
from leadoff.timing.pattern import Pattern, every_pattern, fastest_first

Inside = bool | Literal["within the band"]
Kind = Literal["read", "write", "burst", "page hit"]


class LegSlack(msgspec.Struct, frozen=True, kw_only=True):
    """Slack of one path, ns: ``slack_ns`` in the middle of the unpublished terms, ``lo_ns`` with all of
    them long (model B), ``hi_ns`` with all of them short (model A)."""

    name: str
    slack_ns: float
    lo_ns: float
    hi_ns: float


class PatternVerdict(msgspec.Struct, frozen=True, kw_only=True):
    """What is known about one pattern at one clock with given chips.

    ``inside_max``: True when the published maxima fit even with long unpublished terms, False when they do
    not fit even with short ones, else "within the band". False means *not guaranteed*, never *will not
    run*: that is what ``chance_hold`` is for. ``certainty`` is that of the weakest published row used; the
    unpublished terms are judgements always, and the band of ``slack_ns`` is only as good as they are.
    """

    kind: Kind
    pattern: str
    clocks: int
    slack_ns: Quantity
    binding: str
    legs: tuple[LegSlack, ...]
    inside_max: Inside
    marginal: bool
    chance_hold: Quantity
    certainty: Certainty
    assumed: tuple[str, ...] = ()


def patterns(
    *,
    bus_family: str,
    clock_mhz: Clock,
    sram_ns: float | SramDelays,
    tag_ns: float | None = None,
    banks: int = 1,
    expressible: Iterable[Pattern] | None = None,
    terms: Terms | None = None,
    match_ns: float | None = None,
    rated_bus_mhz: Clock | None = None,
    belief: Belief | None = None,
    temp_c: float = 25.0,
    volts_pct: float = 0.0,
) -> tuple[PatternVerdict, ...]:
    """Read-hit patterns that the chipset can express, fastest first, each with its two answers.

    ``clock_mhz`` is the processor's bus clock: on a 386 half of CLK2, so half of what the can says; 33 is
    taken as 33.0, ``"100/3"`` as what most boards run. ``sram_ns`` is a grade or the delays of the part;
    ``tag_ns`` defaults to the same grade (told in ``assumed``); ``expressible`` defaults to lead-offs 2 to
    4 with later beats 1 to 3 (386: all beats alike); ``rated_bus_mhz`` is the bus clock the processor is
    rated for, by default ``clock_mhz`` itself. ``belief`` is what ``learn`` made of this board's runs (its
    terms then count, not ``terms``). Static analysis only: hold times and loads beyond the data sheets'
    are not in it. ``LeadoffError`` for unknown families, patterns that the bus cannot run, and figures out
    of range.
    """
    case = _case(bus_family, clock_mhz, sram_ns, tag_ns, banks, terms, match_ns, rated_bus_mhz, belief)
    if expressible is None:
        expressible = (
            every_pattern((2, 3, 4), (1, 2, 3))
            if case.family.burst
            else tuple(Pattern(n, n) for n in (2, 3, 4))
        )
    told = case.judged(clock_mhz, temp_c, volts_pct)
    legs = partial(read_legs, family=case.family, ac=case.ac, chips=case.chips, terms=case.belief.terms)
    return tuple(told(kind="read", pattern=p, legs=legs(p)) for p in fastest_first(expressible))


def writes(
    *,
    bus_family: str,
    clock_mhz: Clock,
    sram_ns: float | SramDelays,
    tag_ns: float | None = None,
    clocks: Sequence[int] = (2, 3, 4),
    terms: Terms | None = None,
    match_ns: float | None = None,
    rated_bus_mhz: Clock | None = None,
    belief: Belief | None = None,
    temp_c: float = 25.0,
    volts_pct: float = 0.0,
) -> tuple[PatternVerdict, ...]:
    """Write hits of so many clocks (2 is no wait state), fastest first; arguments as in ``patterns``."""
    case = _case(bus_family, clock_mhz, sram_ns, tag_ns, 1, terms, match_ns, rated_bus_mhz, belief)
    told = case.judged(clock_mhz, temp_c, volts_pct)
    legs = partial(write_legs, family=case.family, ac=case.ac, chips=case.chips, terms=case.belief.terms)
    return tuple(told(kind="write", pattern=Pattern(n, n, 1), legs=legs(n)) for n in sorted(set(clocks)))


def judge(
    *,
    kind: Kind,
    pattern: Pattern,
    legs: Sequence[Leg],
    clock: Clock,
    belief: Belief,
    certainty: Certainty,
    assumed: tuple[str, ...] = (),
    refs: tuple[str, ...] = (),
    temp_c: float = 25.0,
    volts_pct: float = 0.0,
) -> PatternVerdict:
    """Both answers for any set of paths; the common end of ``patterns``, ``writes``, burst and DRAM."""
    period, terms = period_ns(clock), belief.terms
    told = tuple(_leg_slack(leg, period, terms) for leg in legs)
    binding = min(told, key=lambda t: t.slack_ns)
    lo, hi = min(t.lo_ns for t in told), min(t.hi_ns for t in told)
    inside: Inside = True if lo >= -ZERO_NS else False if hi < -ZERO_NS else "within the band"
    return PatternVerdict(
        kind=kind,
        pattern=pattern.text,
        clocks=pattern.clocks,
        slack_ns=Quantity(
            value=binding.slack_ns, unit="ns", source=Source.COMPUTED, lo=lo, hi=hi, level=0.9, refs=refs
        ),
        binding=binding.name,
        legs=told,
        inside_max=inside,
        marginal=inside is not False and lo < terms.report.marginal_ns - ZERO_NS,
        chance_hold=Quantity(
            value=belief.chance(legs, clock, temp_c=temp_c, volts_pct=volts_pct),
            unit="1",
            source=Source.COMPUTED,
            refs=belief.refs,
        ),
        certainty=certainty,
        assumed=assumed,
    )


def fastest_inside(verdicts: Iterable[PatternVerdict]) -> PatternVerdict | None:
    """The fastest one that is inside the maximum delays whatever the unpublished terms; None if none is."""
    return _first(v for v in verdicts if v.inside_max is True)


def fastest_likely(verdicts: Iterable[PatternVerdict], chance: float) -> PatternVerdict | None:
    """The fastest one that holds with at least this chance; None if none does."""
    return _first(v for v in verdicts if (v.chance_hold.value or 0.0) >= chance)


class _Case(msgspec.Struct, frozen=True, kw_only=True):
    family: Family
    ac: BusAc
    chips: CacheChips
    belief: Belief
    certainty: Certainty
    assumed: tuple[str, ...]
    refs: tuple[str, ...]

    def judged(self, clock: Clock, temp_c: float, volts_pct: float) -> partial[PatternVerdict]:
        """``judge`` of this case, for whatever pattern and paths."""
        return partial(
            judge,
            clock=clock,
            belief=self.belief,
            certainty=self.certainty,
            assumed=self.assumed,
            refs=self.refs,
            temp_c=temp_c,
            volts_pct=volts_pct,
        )


def _case(
    family_name: str,
    clock: Clock,
    sram_ns: float | SramDelays,
    tag_ns: float | None,
    banks: int,
    terms: Terms | None,
    match_ns: float | None,
    rated: Clock | None,
    belief: Belief | None,
) -> _Case:
    family = bus_family(family_name)
    ac = bus_ac(family.id, clock if rated is None else rated)
    sram = sram_ns if isinstance(sram_ns, SramDelays) else sram_of_grade(sram_ns)
    assumed = []
    if tag_ns is None and match_ns is None:
        assumed.append(f"tag chip taken as {sram.taa_ns:g} ns like the data chips")
    if rated is None:
        assumed.append("processor taken as rated for this bus clock")
    chips = CacheChips(
        sram=sram, tag_ns=sram.taa_ns if tag_ns is None else tag_ns, banks=banks, match_ns=match_ns
    )
    return _Case(
        family=family,
        ac=ac,
        chips=chips,
        belief=belief or prior(terms or budget_terms()),
        certainty=worst_certainty(ac.certainty, sram.certainty),
        assumed=tuple(assumed),
        refs=(ac.source, sram.source),
    )


def _leg_slack(leg: Leg, period: float, terms: Terms) -> LegSlack:
    lo = leg.slack_ns(period, terms, long_end=True)
    hi = leg.slack_ns(period, terms, long_end=False)
    return LegSlack(name=leg.name, slack_ns=0.5 * (lo + hi), lo_ns=lo, hi_ns=hi)


def _first(verdicts: Iterable[PatternVerdict]) -> PatternVerdict | None:
    return min(verdicts, key=lambda v: v.clocks, default=None)
