"""What a change of cache or memory does to a board: clocks, hit rate, range, score, and what can go wrong.

The arithmetic of fills is ``memory.advice``; here a state becomes its two sides, and the effects are also told
one at a time, so that a loss by the pattern or a gain by the range can be seen behind the sum.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.forecast.facts import Fills, Setup
from leadoff.memory.advice import Advice, CacheSetup, advise_change
from leadoff.memory.demand import Blend, Pages
from leadoff.memory.profile import Profile
from leadoff.plan.swap_cautions import Caution, cautions
from leadoff.plan.swap_side import ChipsetFacts, FirstLevel, Side, saves_of_edo, side
from leadoff.record.quantity import Quantity
from leadoff.timing.card import CardAsk

CACHE_PARTS = ("l2_kb", "l2_ns", "l2_chips", "l2_banks", "l2_type", "tag_ns", "tag_bits")
CACHE_CYCLE = (*CACHE_PARTS, "l2_read", "l2_read_ws", "l2_write_ws", "l2")
MEMORY_PARTS = ("ram_type", "ram_ns", "ram_mb", "dram_read", "dram_read_ws", "cas", "interleave")
SUBJECTS = (
    *CACHE_CYCLE,
    *("l2_write", "l2_policy", "l1", "l1_policy"),
    *MEMORY_PARTS,
    *("dram_write", "dram_write_ws", "rcd", "rp", "refresh", "write_alloc"),
)
"""Settings that this is about."""


HELD, RANGE = "lines held: size, ways, policy", "cacheable range"
_LEAST = 0.05
"""Percent of speed below which an effect is not spoken of."""


class SwapAsk(msgspec.Struct, frozen=True, kw_only=True):
    """Both states with what the timing floor has to know. ``swept``: what a sweep of the state now bounds.
    ``shares``: by workload, time that cache and memory take now (5, 50, 95 % points); ``steps``: one step of its
    score in percent. ``ways``: of the second level, now and then."""

    now: Setup
    then: Setup
    card_now: CardAsk
    card_then: CardAsk
    first_now: FirstLevel
    first_then: FirstLevel
    source: Profile | Blend
    pages: Pages = Pages.UNKNOWN
    chipset: ChipsetFacts | None = None
    ways: tuple[int, int] = (1, 1)
    swept: Fills | None = None
    shares: Mapping[str, tuple[float, float, float]] = {}
    steps: Mapping[str, float] = {}


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """One effect of the change taken alone, in percent of speed."""

    what: str
    score_change_pct: Quantity


class Scored(msgspec.Struct, frozen=True, kw_only=True):
    """The change for one workload. ``step_pct``: one step of its score; ``seen``: the change is larger."""

    workload: str
    score_change_pct: Quantity
    chance_faster: float
    pays: str
    step_pct: float | None
    seen: bool | None


class Swap(msgspec.Struct, frozen=True, kw_only=True):
    """The whole answer. ``placed``: the change by where a program lies, where the range matters."""

    now: Side
    then: Side
    advice: Advice
    parts: tuple[Part, ...]
    placed: tuple[Part, ...]
    workloads: tuple[Scored, ...]
    cautions: tuple[Caution, ...]
    why: tuple[str, ...]


def swap(ask: SwapAsk) -> Swap:
    """Both sides, the sum, the parts, the cautions.

    Raises:
        LeadoffError: a state whose clocks or cache cannot be told, see ``side``.
    """
    changed = {n for n in SUBJECTS if ask.now.state.value(n) != ask.then.state.value(n)}
    same_bus = ask.now.clocks.get("bus_mhz") == ask.then.clocks.get("bus_mhz")
    saves, edo_why = saves_of_edo(ask.chipset, ask.now, ask.then)
    now = side(
        ask.now,
        ask.card_now,
        ask.first_now,
        ways=ask.ways[0],
        kept_cache=True,
        kept_memory=True,
        chipset=ask.chipset,
        swept=ask.swept,
    )
    then = side(
        ask.then,
        ask.card_then,
        ask.first_then,
        ways=ask.ways[1],
        kept_cache=same_bus and not changed & set(CACHE_CYCLE),
        kept_memory=same_bus and not changed & (set(MEMORY_PARTS) - {"ram_mb", "ram_type"}),
        chipset=ask.chipset,
        swept=ask.swept,
        memory_saves=saves,
    )
    whole = _advice(ask, now.cache, then.cache)
    parts = _parts(ask, now.cache, then.cache)
    why = [*whole.why, *([edo_why] if edo_why else [])]
    if then.read is not None and then.read.basis not in ("as set", now.read.basis if now.read else ""):
        why.append(then.read.basis)
    return Swap(
        now=now,
        then=then,
        advice=whole,
        parts=parts,
        placed=_placed(ask, now, then),
        workloads=tuple(_scored(ask, now.cache, then.cache, w) for w in sorted(ask.shares)),
        cautions=cautions(now, then, ask.chipset),
        why=(*why, *_turns(whole, parts)),
    )


def _advice(
    ask: SwapAsk, now: CacheSetup, then: CacheSetup, share: tuple[float, float] | None = None
) -> Advice:
    return advise_change(ask.source, now, then, core_share=share, pages=ask.pages)


def _parts(ask: SwapAsk, now: CacheSetup, then: CacheSetup) -> tuple[Part, ...]:
    """Each effect with everything else as now."""
    has, had = then.hierarchy.l2 is not None, now.hierarchy.l2 is not None
    held: dict[str, object] = {"hierarchy": then.hierarchy}
    if has and not had:
        held["l2_clocks"] = then.l2_clocks  # there was no cycle before
    tries: tuple[tuple[str, dict[str, object]], ...] = (
        (HELD, held),
        ("cache cycle", {"l2_clocks": then.l2_clocks}),
        ("memory cycle", {"memory_clocks": then.memory_clocks}),
        (RANGE, {"uncached_share": then.uncached}),
        ("store cycle", {"store_clocks": then.store_clocks}),
        ("clocks", {"bus_mhz": then.bus_mhz, "core_mhz": then.core_mhz}),
    )
    out = []
    for what, change in tries:
        alone = msgspec.structs.replace(now, **change)
        if alone != now and not (what == "cache cycle" and not (has and had)):
            out.append(Part(what=what, score_change_pct=_advice(ask, now, alone).score_change_pct))
    return tuple(out)


def _placed(ask: SwapAsk, now: Side, then: Side) -> tuple[Part, ...]:
    """Where memory reaches beyond the range on either side: a program low, spread, or at the top."""
    if not (now.beyond or then.beyond):
        return ()

    def at(where: Side, share: float) -> CacheSetup:
        return msgspec.structs.replace(where.cache, uncached_share=share if where.beyond else 0.0)

    cases = (
        ("low in memory", 0.0, 0.0),
        ("spread over all memory", now.beyond, then.beyond),
        ("at the top of memory", 1.0, 1.0),
    )
    return tuple(
        Part(what=what, score_change_pct=_advice(ask, at(now, a), at(then, b)).score_change_pct)
        for what, a, b in cases
    )


def _scored(ask: SwapAsk, now: CacheSetup, then: CacheSetup, workload: str) -> Scored:
    low, _, high = ask.shares[workload]
    made = _advice(ask, now, then, (1.0 - high, max(1.0 - low, 1.0 - high)))
    step = ask.steps.get(workload)
    change = made.score_change_pct.value or 0.0
    return Scored(
        workload=workload,
        score_change_pct=made.score_change_pct,
        chance_faster=made.chance_faster,
        pays=made.pays,
        step_pct=step,
        seen=None if step is None else abs(change) > step,
    )


def _turns(whole: Advice, parts: tuple[Part, ...]) -> tuple[str, ...]:
    """Where the sum goes the other way than the size alone, by what it does so."""
    by_name = {p.what: p.score_change_pct.value or 0.0 for p in parts}
    held, reach = by_name.get(HELD, 0.0), by_name.get(RANGE, 0.0)
    total = whole.score_change_pct.value or 0.0
    out = []
    if held > _LEAST and total < -_LEAST and whole.pays == "no":
        worst = min(by_name, key=lambda n: by_name[n])
        out.append(f"more lines are held, but the {worst} takes more than that: it hurts on the whole")
    if total > _LEAST and reach > _LEAST and total - reach <= _LEAST and whole.pays != "no":
        out.append("it is the cacheable range that pays: the size alone would not")
    return tuple(out)
