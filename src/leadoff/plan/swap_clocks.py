"""Bus clocks of the cycles on one side of a change of cache or memory, from the setting, the chips or a sweep."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from leadoff.forecast.facts import Fills, Setup
from leadoff.forecast.priors import prior
from leadoff.forecast.rows import group
from leadoff.forecast.unknowns import choices
from leadoff.timing.pattern import Pattern
from leadoff.timing.verdict import PatternVerdict, fastest_inside, fastest_likely

Band = tuple[float, float]

LIKELY, SURE = 0.5, 0.9
"""Chances to hold from which a pattern is worth trying, and from which it is counted on (judgement)."""


class ReadCycle(msgspec.Struct, frozen=True, kw_only=True):
    """A cache read: ``clocks`` of the whole line as (least, most), the pattern set, the chance that it holds
    with the chips of this side, the fastest pattern inside all maxima, and where the clocks come from.
    ``kept``: it runs so now."""

    clocks: Band
    pattern: str | None
    chance_hold: float | None = None
    fastest_inside: str | None = None
    basis: str = ""
    kept: bool = False


def read_cycle(
    setup: Setup, verdicts: Sequence[PatternVerdict], *, kept: bool, swept: Fills | None, single: bool = False
) -> ReadCycle:
    """What a line from the second level takes. ``single``: nothing in front of it fetches lines, so a read is the
    lead-off alone. ``kept``: the chips are those the board runs with, so that the
    pattern that is set is known to work. A pattern that is set and may not hold gives a band: as set, or the
    fastest one inside the maximum delays."""
    reads = [v for v in verdicts if v.kind == "read"]
    inside = fastest_inside(reads)
    safe = inside.pattern if inside is not None else None
    safest = Pattern.parse(safe) if safe is not None else Pattern(4, 3)
    fixed = group("geometry", "cost")["cache_fixed"]
    if "burst" in (setup.state.value("l2_type") or ""):
        burst = _clocks(Pattern(3, 1), single)
        return ReadCycle(clocks=(burst + fixed,) * 2, pattern="3-1-1-1", basis="burst cache: by the part")
    said = setup.state.value("l2_read")
    waits = setup.state.value("l2_read_ws")
    if said is not None:
        own = Pattern.parse(said)
        chance = next((v.chance_hold.value for v in reads if v.pattern == own.text), None)
        held = 1.0 if kept else chance
        if held is None or held >= SURE or inside is None or inside.clocks <= own.clocks:
            clocks = _span(_clocks(own, single), _clocks(own, single))
            basis = "as set"
        elif held < LIKELY:
            clocks = _span(_clocks(safest, single), _clocks(safest, single))
            basis = f"{said} is not likely to hold: the fastest inside the maximum delays"
        else:
            clocks = _span(_clocks(own, single), _clocks(safest, single))
            basis = f"{said} may hold, else {inside.pattern}"
        return ReadCycle(
            clocks=_plus(clocks, fixed),
            pattern=said,
            chance_hold=chance,
            fastest_inside=safe,
            basis=basis,
            kept=kept,
        )
    if swept is not None and swept.cache is not None and kept:
        return ReadCycle(clocks=swept.cache, pattern=None, fastest_inside=safe, basis="from the sweep")
    if waits is not None:
        lead = 2 + float(waits)
        return ReadCycle(
            clocks=_plus((lead, lead) if single else (lead + 3, lead + 6), fixed),
            pattern=None,
            fastest_inside=safe,
            basis=f"{waits} wait states set, later beats 1 or 2 clocks",
        )
    likely = fastest_likely(reads, LIKELY)
    if likely is not None and inside is not None:
        span = _span(_clocks(Pattern.parse(likely.pattern), single), _clocks(safest, single))
        by_chips = dict.fromkeys((likely.pattern, inside.pattern))
        basis = f"pattern not known: {' to '.join(by_chips)} by the chips"
    else:
        every = [_clocks(Pattern.parse(p), single) for p in choices("l2_read", setup)]
        span, basis = _span(min(every), max(every)), "pattern not known: all that the class has"
    return ReadCycle(clocks=_plus(span, fixed), pattern=None, fastest_inside=safe, basis=basis)


def memory_clocks(
    setup: Setup, *, looked: bool, kept: bool, swept: Fills | None, single: bool = False
) -> tuple[Band, str]:
    """A line from memory on a page hit, and where the clocks come from. ``looked``: a second level is asked
    first. ``kept``: memory is what it was, so that a sweep of the board counts."""
    cost = group("geometry", "cost")
    more = math.exp(prior("k", "look").centre) if looked else 0.0
    if setup.state.value("ram_type") == "sdram" or setup.state.value("cas") is not None:
        cas = float(setup.state.value("cas") or cost["cas"])
        total = cost["sdram_controller"] + cas + (0 if single else 3)
        return _plus((total, total), more), f"synchronous, CAS latency {cas:g}"
    said = setup.state.value("dram_read")
    if said is not None:
        own = _clocks(Pattern.parse(said), single)
        return _plus((own, own), more), "as set"
    if swept is not None and swept.memory is not None and kept:
        return swept.memory, "from the sweep"
    every = [_clocks(Pattern.parse(p), single) for p in choices("dram_read", setup)]
    return _plus(_span(min(every), max(every)), more), "pattern not known: all that the class has"


def store_clocks(setup: Setup, verdicts: Sequence[PatternVerdict], *, has_l2: bool, kept: bool) -> Band:
    """A posted store in bus clocks: by policy and wait states; one clock more where the chips of this side do
    not likely carry the write cycle that is set (the write has to wait for the tag)."""
    cost = group("geometry", "cost")
    state = setup.state
    to_memory = _number(state.value("dram_write_ws"))
    memory = (0.0, 1.0) if to_memory is None else (to_memory, to_memory)
    if not has_l2:
        return memory[0] + cost["store_none"], memory[1] + cost["store_none"]
    waits = _number(state.value("l2_write_ws"))
    cache = (0.0, 1.0) if waits is None else (waits, waits)
    if not kept:
        set_clocks = 2 + int(cache[0])
        chance = next(
            (v.chance_hold.value for v in verdicts if v.kind == "write" and v.clocks == set_clocks), None
        )
        if chance is not None and chance < LIKELY:
            cache = (cache[0] + 1, cache[1] + 1)
        elif chance is not None and chance < SURE:
            cache = (cache[0], cache[1] + 1)
    if state.value("l2_policy") == "wb" or setup.clock("l2_mhz") is not None:
        return cache[0] + cost["store_l2"], cache[1] + cost["store_l2"]
    # Posted to memory as well: a share of the memory's write shows behind the cache's.
    shows = math.exp(prior("s", "through").centre)
    return (
        cache[0] + cost["store_l2"] + shows * (cost["store_none"] + memory[0]),
        cache[1] + cost["store_l2"] + shows * (cost["store_none"] + memory[1]),
    )


def _clocks(pattern: Pattern, single: bool) -> float:
    return float(pattern.lead if single else pattern.clocks)


def _span(low: float, high: float) -> Band:
    return float(min(low, high)), float(max(low, high))


def _plus(band: Band, more: float) -> Band:
    return band[0] + more, band[1] + more


def _number(text: str | None) -> float | None:
    return None if text is None else float(text)
