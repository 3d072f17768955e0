"""A bandwidth sweep as evidence for the score model: what a line takes, one row for each level it shows.

A row is a state like any other to the solver, with a demand that leaves one term alone: the cache hit or the
memory read. What is seen is the interval between raw less the first level's plateau and raw. In a loop that
only reads, the processor waits for every beat, so the whole burst counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import msgspec

from leadoff.forecast.datum import Datum, state_key
from leadoff.forecast.facts import Observed
from leadoff.forecast.geometry import Demand, demand
from leadoff.forecast.layout import BEHIND, SLOTS, Columns, Layout, names_of
from leadoff.forecast.priors import COLUMNS, centres, prior, priors
from leadoff.forecast.rows import group
from leadoff.record.runs import Direction, Workload

CACHE, MEMORY = "sweep: cache", "sweep: memory"
"""Names that no workload can have: they hold a colon."""

_TEACHES = {CACHE: ("b.cache", "k.cache", "f.cache", "c.reach"), MEMORY: ("b.memory", "k.memory", "f.memory")}
_ANY = Workload(name=CACHE, unit="us", direction=Direction.LOWER)
_NOTHING = -60.0


def is_sweep(d: Datum) -> bool:
    """Whether a datum is a level of a sweep and no score."""
    return d.workload in _TEACHES


def sweep_data(runs: Iterable[Observed]) -> tuple[Datum, ...]:
    """A datum for each level of each sweep, in content order; states without a bus clock or without a
    first-level cache at work are left out: their reads are no line fills."""
    out = [d for seen in runs if seen.fills is not None for d in _levels(seen)]
    return tuple(sorted(out, key=lambda d: (d.workload, d.when, d.setup.board, d.key, d.lo, d.hi)))


def demand_of(workloads: Mapping[str, Workload], d: Datum, over: Mapping[str, str]) -> Demand:
    """The demand behind a datum, score or sweep.

    Raises:
        Gap: when the core or bus clock is not known.
    """
    if not is_sweep(d):
        return demand(workloads[d.workload], d.setup, over)
    whole = demand(_ANY, d.setup, over)
    return msgspec.structs.replace(
        whole,
        log_clocks=_NOTHING,
        inner=1.0,
        halvings=0.0,
        log_rate=-prior("w", "fills").centre,
        outer=float(d.workload == CACHE),
        logit_miss=_NOTHING,
        hit_lead=whole.hit_lead + whole.hit_rest,
        hit_rest=0.0,
        mem_lead=whole.mem_lead + whole.mem_rest,
        mem_rest=0.0,
        # The model takes rows for nearer where no second level stands between: a sweep leaps from row to row.
        mem_rows=group("sweeps", "memory")["rows"] / math.exp(prior("s", "near").centre),
        store=0.0,
        store_memory=0.0,
        victim=0.0,
        victim2=0.0,
        victim_through=0.0,
        alloc=0.0,
        luck=0.0,
        video=0.0,
        video_fixed=0.0,
        ticks=0.0,
        resident=0.0,
        combined=0.0,
    )


def sweep_columns(layout: Layout, d: Datum) -> Columns:
    """Columns of a sweep's row: what it teaches, and nothing else moves it."""
    used = _TEACHES[d.workload]
    names = names_of(d.workload, d.setup)
    wanted, own = [], []
    for name, column, p in zip(names, COLUMNS, priors(), strict=True):
        # A board's own columns are always there: the block of a board is whole.
        wanted.append(layout.place(name) if column in used or p.level == "b" else -1)
        own.append(p.sd if column in used else 0.0)
    rest = SLOTS + len(BEHIND)
    return Columns(wanted + [-1] * rest, own + [0.0] * rest, centres())


def sweep_noise_var(d: Datum) -> float:
    """Variance of the bounds of one level in logs: what its points scatter, and the loop that was not ours."""
    return float(d.printed**2 / d.readings + group("sweeps", "loop")["log_sd"] ** 2)


def swept(data: Sequence[Datum], board: str) -> str:
    """What the sweeps of a board bound, in words; empty without one."""
    levels = [d.workload for d in data if is_sweep(d) and d.setup.board == board]
    if not levels:
        return ""
    which = [word for name, word in ((CACHE, "cache"), (MEMORY, "memory")) if name in levels]
    return f"clocks of a line from {' and '.join(which)} held inside what its sweep shows"


def _levels(seen: Observed) -> list[Datum]:
    fills, bus = seen.fills, seen.setup.clock("bus_mhz")
    if fills is None or bus is None:
        return []
    if seen.setup.clock("core_mhz") is None or not demand(_ANY, seen.setup).inner:
        return []
    out = []
    for name, bounds in ((CACHE, fills.cache), (MEMORY, fills.memory)):
        if bounds is None or not 0.0 < bounds[0] <= bounds[1]:
            continue
        if name == CACHE and not demand(_ANY, seen.setup).outer:
            continue
        out.append(
            Datum(
                workload=name,
                setup=seen.setup,
                key=state_key(seen.setup),
                lo=math.log(bounds[0] / bus),
                hi=math.log(bounds[1] / bus),
                readings=1,
                boots=1,
                rig="",
                when=seen.when,
                numbers=(seen.run.number,),
                printed=fills.noise_log,
            )
        )
    return out
