"""How well the shipped families foretell a workload that they have not seen: each left out in turn."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import msgspec

from leadoff.memory.demand import Blend, Demand, demand
from leadoff.memory.geometry import Cache, Hierarchy, Replacement
from leadoff.memory.profile import Profile, shipped
from leadoff.memory.rows import rows

SIZES_KB = (64, 128, 256, 512, 1024)
QUANTITIES = ("fills", "miss_share", "dirty", "stores", "doubling", "page_miss")


class LeftOut(msgspec.Struct, frozen=True, kw_only=True):
    """Error in logs of the other families' blend for ``family``: over geometries, middle and worst.

    ``prior_wins``: the middle error is beyond the band of the forecast's prior, which then keeps more than half of
    its say (forecast/families.py).
    """

    family: str
    quantity: str
    median_log_error: float
    worst_log_error: float
    band: float
    prior_wins: bool


@lru_cache(maxsize=1)
def left_out() -> tuple[LeftOut, ...]:
    """All families and quantities: first-level fills per reference, share of them that the second level misses,
    victims per fill, stores that leave, the change from doubling the second level, and page misses."""
    found, _, _ = shipped()
    return left_out_of(tuple(found.values()))


def left_out_of(profiles: tuple[Profile, ...]) -> tuple[LeftOut, ...]:
    """The same for any profiles (at least two)."""
    bands = rows("grid")["prior_band"]
    out = []
    for family in profiles:
        others = tuple(p for p in profiles if p is not family)
        rest = Blend(profiles=others, weights=(1 / len(others),) * len(others))
        errors: dict[str, list[float]] = {q: [] for q in QUANTITIES}
        for l1 in _first_levels():
            for small, large in pairwise(SIZES_KB):
                truth = _shape(family, l1, small, large)
                guess = _shape(rest, l1, small, large)
                for q in QUANTITIES:
                    errors[q].append(abs(truth[q] - guess[q]))
        for q in QUANTITIES:
            ordered = sorted(errors[q])
            middle = ordered[len(ordered) // 2]
            out.append(
                LeftOut(
                    family=family.name,
                    quantity=q,
                    median_log_error=middle,
                    worst_log_error=ordered[-1],
                    band=float(bands[q]),
                    prior_wins=middle > bands[q],
                )
            )
    return tuple(out)


def prior_wins(quantity: str) -> bool:
    """Whether profiles are no better than the prior for ``quantity`` in at least half the families."""
    mine = [e.prior_wins for e in left_out() if e.quantity == quantity]
    return 2 * sum(mine) >= len(mine)


def _first_levels() -> tuple[Cache, ...]:
    tree = Replacement.TREE
    return (
        Cache(size_kb=8, ways=4, replacement=tree),
        Cache(size_kb=16, ways=4, replacement=tree),
        Cache(size_kb=16, ways=4, line_bytes=32),
    )


def _shape(source: Profile | Blend, l1: Cache, small: int, large: int) -> dict[str, float]:
    a = _at(source, l1, small)
    b = _at(source, l1, large)

    def log(x: float) -> float:
        return math.log(max(x, 1e-4))

    return {
        "fills": log(a.fills.value),
        "miss_share": log(a.fills_memory.value / a.fills.value),
        "dirty": log(a.victims_l1.value / a.fills.value),
        "stores": log(a.stores.value),
        "doubling": log(b.fills_memory.value / a.fills_memory.value),
        "page_miss": log(a.page_miss.value),
    }


def _at(source: Profile | Blend, l1: Cache, size_kb: int) -> Demand:
    return demand(source, Hierarchy(l1=l1, l2=Cache(size_kb=size_kb, line_bytes=l1.line_bytes)))
