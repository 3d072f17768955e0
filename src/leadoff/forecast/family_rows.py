"""How the shipped profile families differ in what the score model calls a workload: made from the profiles.

``data/families.toml`` holds what is made here (tools/families.py), so that a forecast reads no profile.
"""

from __future__ import annotations

import math
from statistics import median

from leadoff.memory.demand import demand, families, profile
from leadoff.memory.geometry import Cache, Hierarchy, Policy, Replacement
from leadoff.memory.left_out import left_out

SIZES_KB = (64, 128, 256, 512, 1024)
MIDDLE_KB = 256
QUANTITIES = ("fills", "miss_share", "dirty", "stores", "doubling")
"""In logs (``miss_share`` in logits, at ``MIDDLE_KB``): line fills, share that the second level misses, victims per
fill, stores that leave; ``doubling`` is the log of the slope of the miss share's logit by log2 of the size."""


def family_rows() -> dict[str, dict[str, float]]:
    """Each family's quantities behind a 16 KB first level, as the profiles have them."""
    return {name: _quantities(name) for name in families()}


def errors() -> dict[str, tuple[float, float]]:
    """By quantity: median error in logs of a family foretold by the others, and the band of the forecast's prior."""
    found = left_out()
    out = {}
    for q in QUANTITIES:
        mine = [e for e in found if e.quantity == q]
        out[q] = (median(e.median_log_error for e in mine), mine[0].band)
    return out


def _quantities(name: str) -> dict[str, float]:
    source = profile(name)

    def first(policy: Policy) -> Cache:
        return Cache(size_kb=16, ways=4, replacement=Replacement.TREE, policy=policy)

    through = {
        kb: demand(source, Hierarchy(l1=first(Policy.WRITE_THROUGH), l2=Cache(size_kb=kb))) for kb in SIZES_KB
    }
    back = demand(source, Hierarchy(l1=first(Policy.WRITE_BACK), l2=Cache(size_kb=MIDDLE_KB)))
    logits = {kb: _logit(d.fills_memory.value / d.fills.value) for kb, d in through.items()}
    x = [math.log2(kb) for kb in SIZES_KB]
    mean_x, mean_y = sum(x) / len(x), sum(logits.values()) / len(x)
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, logits.values(), strict=True))
    slope /= sum((a - mean_x) ** 2 for a in x)
    middle = through[MIDDLE_KB]
    return {
        "fills": math.log(middle.fills.value),
        "miss_share": logits[MIDDLE_KB],
        "dirty": math.log(back.victims_l1.value / back.fills.value),
        "stores": math.log(middle.stores.value),
        "doubling": math.log(-slope),
    }


def _logit(share: float) -> float:
    held = min(max(share, 1e-4), 1.0 - 1e-4)
    return math.log(held / (1.0 - held))
