"""What a workload asks of the levels at any geometry: profiles read between the points of their grid.

This is the seam for the forecast: plain values out, NumPy inside, no simulation at run time.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any

import msgspec
import numpy as np

from leadoff.memory.geometry import Cache, Hierarchy, Policy, SplitCache
from leadoff.memory.profile import Profile, load_profile, shipped
from leadoff.memory.profile_grid import OUTER_QUANTITIES, drams, inners, outers
from leadoff.record.errors import LeadoffError

QUANTITIES = (
    "fills", "stores", "victims_l1", "fills_memory", "stores_memory", "victims_passed", "victims_l2",
    "row_miss", "page_miss",
)  # fmt: skip


class Pages(StrEnum):
    """How the program lies in memory: in one piece (real mode, extenders), scattered, or not known."""

    CONTIGUOUS = "contiguous"
    SCATTERED = "scattered"
    UNKNOWN = "unknown"


class Rate(msgspec.Struct, frozen=True):
    """A rate and its spread: ``log_sd`` over page placements, ``between`` over the families of a blend."""

    value: float
    log_sd: float = 0.0
    between: float = 0.0


class Demand(msgspec.Struct, frozen=True, kw_only=True):
    """Per thousand data references, at one geometry.

    ``fills``: lines (single reads without a first level) asked of what lies behind it. ``l2_hit``: share of
    them served by the second level, ``fills_memory`` those that none served. ``stores``: words that leave the
    processor by its policy; ``stores_memory`` those that reach memory. ``victims_l1``: lines that the first
    level writes back, ``victims_passed`` those that the second did not hold, ``victims_l2`` lines that it writes
    back itself. ``row_miss``, ``page_miss``: shares of memory line reads that find the bank closed or another
    page open. ``outside`` says what of the geometry lies outside of the grid; the nearest was taken.
    """

    fills: Rate
    stores: Rate
    victims_l1: Rate
    fills_memory: Rate
    stores_memory: Rate
    victims_passed: Rate
    victims_l2: Rate
    row_miss: Rate
    page_miss: Rate
    l2_hit: float
    instructions_per_reference: float | None = None
    outside: str = ""


class Blend(msgspec.Struct, frozen=True, kw_only=True):
    """A mixture of profiles, for a workload that has none: weights sum to one."""

    profiles: tuple[Profile, ...]
    weights: tuple[float, ...]


def families() -> tuple[str, ...]:
    """Names of the shipped profile families."""
    return tuple(shipped()[0])


def profile(name: str) -> Profile:
    """A shipped profile; raises LeadoffError for a name that is none."""
    found = shipped()[0].get(name)
    if found is None:
        raise LeadoffError.one(
            "profile_name",
            f"no profile {name!r} is shipped",
            where=name,
            do="known: " + ", ".join(families()),
        )
    return found


def profiles_digest() -> str:
    """Digest of the shipped profiles, for a sealed forecast."""
    return shipped()[2]


def made_with() -> dict[str, str]:
    """Compiler, tools, script and assumptions behind the shipped profiles."""
    return dict(shipped()[1])


def blend(weights: Mapping[str, float] | None = None) -> Blend:
    """A mixture of shipped families, equal where no weights are given. Weights are scaled to one."""
    given = dict.fromkeys(families(), 1.0) if weights is None else dict(weights)
    total = sum(given.values())
    if not given or min(given.values()) < 0 or not total > 0:
        raise LeadoffError.one(
            "blend_weights", f"weights {given} make no mixture: none below zero, one above", where="weights"
        )
    kept = {n: w for n, w in given.items() if w > 0}
    return Blend(profiles=tuple(profile(n) for n in kept), weights=tuple(w / total for w in kept.values()))


def learn_weights(prior: Mapping[str, float], log_likelihood: Mapping[str, float]) -> dict[str, float]:
    """Weights after runs: prior times likelihood, scaled to one. Families without a likelihood keep theirs."""
    logs = {n: math.log(w) + log_likelihood.get(n, 0.0) for n, w in prior.items() if w > 0}
    top = max(logs.values())
    raw = {n: math.exp(v - top) for n, v in logs.items()}
    total = sum(raw.values())
    return {n: raw.get(n, 0.0) / total for n in prior}


def demand(
    source: Profile | Blend,
    geometry: Hierarchy,
    *,
    uncached_share: float = 0.0,
    pages: Pages | str = Pages.UNKNOWN,
) -> Demand:
    """What ``source`` asks at ``geometry``, with the program's pages as said; not known counts both halves.

    ``uncached_share``: of the line reads, those beyond the outer levels' cacheable range, which go straight to
    memory (the cacheable range itself says nothing of where a program lies). Raises LeadoffError outside 0 to 1.
    """
    if not 0.0 <= uncached_share <= 1.0:
        raise LeadoffError.one(
            "share_range",
            f"an uncached share of {uncached_share:g} must lie between 0 and 1",
            where="uncached_share",
        )
    lie = Pages(pages)
    if isinstance(source, Profile):
        values, spread, outside = _read(source, geometry, uncached_share, lie)
        rates = {q: Rate(v, s) for q, v, s in zip(QUANTITIES, values, spread, strict=True)}
        return Demand(
            **rates,
            l2_hit=_hit(source, geometry, uncached_share, values, lie),
            instructions_per_reference=source.instructions_per_reference,
            outside=outside,
        )
    return _mix(source, geometry, uncached_share, lie)


def demand_many(source: Profile | Blend, geometries: Sequence[Hierarchy]) -> dict[str, Any]:
    """The same for several geometries as arrays: every rate's value under its name, spread as ``<name>_log_sd``."""
    made = [demand(source, g) for g in geometries]
    out: dict[str, Any] = {}
    for q in QUANTITIES:
        out[q] = np.array([getattr(d, q).value for d in made])
        out[f"{q}_log_sd"] = np.array([math.hypot(getattr(d, q).log_sd, getattr(d, q).between) for d in made])
    out["l2_hit"] = np.array([d.l2_hit for d in made])
    return out


def _mix(source: Blend, geometry: Hierarchy, uncached: float, lie: Pages) -> Demand:
    each = [demand(p, geometry, uncached_share=uncached, pages=lie) for p in source.profiles]
    weights = np.array(source.weights)
    rates = {}
    for q in QUANTITIES:
        logs = np.log([max(getattr(d, q).value, 1e-6) for d in each])
        mean = float(weights @ logs)
        between = math.sqrt(max(0.0, float(weights @ (logs - mean) ** 2)))
        inner = math.sqrt(float(weights @ np.array([getattr(d, q).log_sd ** 2 for d in each])))
        rates[q] = Rate(math.exp(mean) if math.exp(mean) > 2e-6 else 0.0, inner, between)
    known = [(w, d.instructions_per_reference) for w, d in zip(weights, each, strict=True)]
    per = [(w, i) for w, i in known if i is not None]
    return Demand(
        **rates,
        l2_hit=float(weights @ np.array([d.l2_hit for d in each])),
        instructions_per_reference=sum(w * i for w, i in per) / sum(w for w, _ in per) if per else None,
        outside="; ".join(sorted({d.outside for d in each if d.outside})),
    )


def _read(
    source: Profile, geometry: Hierarchy, uncached: float, lie: Pages
) -> tuple[list[float], list[float], str]:
    notes: list[str] = []
    first = geometry.l1.data if isinstance(geometry.l1, SplitCache) else geometry.l1
    picked = _inner(first, notes)
    last = geometry.l3 or geometry.l2
    inner, inner_sd = _weighted(source.inner, source.inner_log_sd, [(w, (i,)) for w, i in picked])
    places = _outer(last, notes)
    points = [(w * v, (i, o)) for w, i in picked for v, o in places]
    outer, outer_sd = _laid(source, points, lie)
    none, _ = _weighted(source.outer, source.outer_log_sd, [(w, (i, 0)) for w, i in picked])
    q = dict(zip(OUTER_QUANTITIES, outer, strict=True))
    sd = dict(zip(OUTER_QUANTITIES, outer_sd, strict=True))
    fills, stores, victims = inner
    fills_sd, stores_sd, victims_sd = inner_sd
    through_first = first is None or first.policy is Policy.WRITE_THROUGH
    if through_first:
        victims = 0.0
    if first is not None and first.policy is Policy.WRITE_THROUGH:
        # Every store leaves, whatever the cache: the row without a first level counts them.
        stores, stores_sd = float(source.inner[0, 1]), 0.0
    cached = q["fills_memory"] * (1 - uncached)
    fills_memory = cached + float(none[0]) * uncached
    # Luck in placement moves only what is cached.
    memory_sd = sd["fills_memory"] * cached / fills_memory if fills_memory > 0 else 0.0
    stores_memory, passed, back = q["stores_memory"], q["victims_missing"], q["victims_l2"]
    if last is None or last.policy is Policy.WRITE_THROUGH:
        stores_memory, passed, back = stores, victims, 0.0
    elif not last.dirty_bit:
        back = q["fills_memory"]
    if through_first:
        passed = 0.0
    case = "abc"[_nearest_dram(geometry)]
    row, page = q[f"row_miss_{case}"], q[f"page_miss_{case}"]
    total = max(1.0, row + page)
    if geometry.l3 is not None and geometry.l2 is not None:
        # A line that either level holds does not come from memory.
        alone = Hierarchy(l1=geometry.l1, l2=geometry.l2, dram=geometry.dram)
        fills_memory = min(fills_memory, _read(source, alone, uncached, lie)[0][3])
    values = [fills, stores, victims, min(fills_memory, fills), min(stores_memory, stores), passed, back]
    spreads = [fills_sd, stores_sd, victims_sd, memory_sd, sd["stores_memory"]]
    spreads += [sd["victims_missing"], sd["victims_l2"]]
    values += [row / total, page / total]
    spreads += [sd[f"row_miss_{case}"], sd[f"page_miss_{case}"]]
    return values, spreads, "; ".join(dict.fromkeys(notes))


def _hit(source: Profile, geometry: Hierarchy, uncached: float, values: list[float], lie: Pages) -> float:
    if geometry.l2 is None or values[0] <= 0:
        return 0.0
    if geometry.l3 is None:
        return 1.0 - values[3] / values[0]
    alone = Hierarchy(l1=geometry.l1, l2=geometry.l2, dram=geometry.dram)
    behind = _read(source, alone, uncached, lie)[0]
    return 1.0 - behind[3] / behind[0]


def _laid(source: Profile, points: Sequence[tuple[float, tuple[int, ...]]], lie: Pages) -> tuple[Any, Any]:
    """Behind the levels: scattered, in one piece, or both halves with the gap between them as spread."""
    scattered, sd = _weighted(source.outer, source.outer_log_sd, points)
    whole, _ = _weighted(source.contiguous, source.outer_log_sd, points)
    if lie is Pages.SCATTERED:
        return scattered, sd
    if lie is Pages.CONTIGUOUS:
        # One layout was traced; another program of the family lies otherwise, so half the luck stays.
        return whole, sd / 2
    gap = np.log(scattered / whole) / 2
    return (scattered + whole) / 2, np.sqrt(sd**2 / 2 + gap**2)


def _weighted(mean: Any, spread: Any, points: Sequence[tuple[float, tuple[int, ...]]]) -> tuple[Any, Any]:
    """Log-linear between points of the grid."""
    logs = sum(w * np.log(np.maximum(mean[at], 1e-9)) for w, at in points)
    sd = sum(w * spread[at] for w, at in points)
    return np.exp(logs), sd


def _inner(cache: Cache | None, notes: list[str]) -> list[tuple[float, int]]:
    """Rows of first levels and their weights."""
    rows = inners()
    if cache is None:
        return [(1.0, next(i for i, r in enumerate(rows) if r.mode == "none"))]
    line = 16 if cache.line_bytes <= 16 else 32
    if cache.line_bytes not in (16, 32):
        notes.append(f"first-level lines of {cache.line_bytes} bytes taken as {line}")
    mode = "wt" if cache.policy is Policy.WRITE_THROUGH else ("wb-alloc" if cache.allocate else "wb")
    chosen = [(i, r) for i, r in enumerate(rows) if r.line_bytes == line and r.mode == mode]
    if not chosen:
        mode = "wb"
        notes.append(f"first-level policy taken as write-back without allocation at {line}-byte lines")
        chosen = [(i, r) for i, r in enumerate(rows) if r.line_bytes == line and r.mode == mode]
    sizes = [r.size_kb for _, r in chosen]
    low, high, share = _between(sizes, cache.size_kb, "first level", notes)
    return [(1 - share, chosen[low][0]), (share, chosen[high][0])] if share > 0 else [(1.0, chosen[low][0])]


def _outer(cache: Cache | None, notes: list[str]) -> list[tuple[float, int]]:
    """Columns of second levels and their weights."""
    if cache is None:
        return [(1.0, 0)]
    columns = outers()
    sizes = sorted({s for s, _ in columns if s})
    ways = sorted({w for s, w in columns if s})
    a, b, share = _between(sizes, cache.size_kb, "outer level", notes)
    c, d, turn = _between(ways, cache.ways, "ways of the outer level", notes)
    weights = [
        ((1 - share) * (1 - turn), a, c),
        ((1 - share) * turn, a, d),
        (share * (1 - turn), b, c),
        (share * turn, b, d),
    ]
    return [(w, columns.index((sizes[s], ways[y]))) for w, s, y in weights if w > 0]


def _between(grid: Sequence[int], value: float, what: str, notes: list[str]) -> tuple[int, int, float]:
    """Neighbours in ``grid`` and how far between them ``value`` lies in logs; ends are held, and said."""
    if value <= grid[0] or len(grid) == 1:
        if value < grid[0] or (len(grid) == 1 and value != grid[0]):
            notes.append(f"{what} of {value:g} taken as {grid[0]}")
        return 0, 0, 0.0
    if value >= grid[-1]:
        if value > grid[-1]:
            notes.append(f"{what} of {value:g} taken as {grid[-1]}")
        return len(grid) - 1, len(grid) - 1, 0.0
    high = next(i for i, g in enumerate(grid) if g >= value)
    if grid[high] == value:
        return high, high, 0.0
    low = high - 1
    return low, high, math.log(value / grid[low]) / math.log(grid[high] / grid[low])


def _nearest_dram(geometry: Hierarchy) -> int:
    def far(k: int) -> float:
        d, e = drams()[k], geometry.dram
        return abs(math.log2(d.page_bytes / e.page_bytes)) + abs(math.log2(d.banks / e.banks))

    return min(range(3), key=far)


__all__ = [
    "QUANTITIES",
    "Blend",
    "Demand",
    "Pages",
    "Rate",
    "blend",
    "demand",
    "demand_many",
    "families",
    "learn_weights",
    "load_profile",
    "made_with",
    "profile",
    "profiles_digest",
]
