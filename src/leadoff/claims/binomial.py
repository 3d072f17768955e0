"""Exact limits of a failure rate from k failures of n (C. J. Clopper and E. S. Pearson, Biometrika 26, 1934)."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

MOST = 1_000_000


def at_most(k: int, n: int, p: float) -> float:
    """Probability of at most ``k`` of ``n`` at rate ``p``; sums the shorter tail in logs."""
    if k < 0:
        return 0.0
    if k >= n or p <= 0.0:
        return 1.0
    if p >= 1.0:
        return 0.0
    if k > n // 2:
        return 1.0 - at_most(n - k - 1, n, 1.0 - p)
    log_p, log_q, whole = math.log(p), math.log1p(-p), math.lgamma(n + 1)
    return min(
        1.0,
        math.fsum(
            math.exp(whole - math.lgamma(i + 1) - math.lgamma(n - i + 1) + i * log_p + (n - i) * log_q)
            for i in range(k + 1)
        ),
    )


@lru_cache(maxsize=256)
def upper(k: int, n: int, level: float = 0.95) -> float:
    """One-sided upper limit of the rate at this level: at any higher rate ``k`` or fewer would be rarer than
    1 - level. 1 when all failed."""
    _check(k, n, level)
    return 1.0 if k == n else _solve(lambda p: at_most(k, n, p), 1.0 - level)


@lru_cache(maxsize=256)
def lower(k: int, n: int, level: float = 0.95) -> float:
    """One-sided lower limit of the rate at this level; 0 when none failed."""
    _check(k, n, level)
    return 0.0 if k == 0 else _solve(lambda p: at_most(k - 1, n, p), level)


def two_sided(k: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Both limits, each tail with half of what is left."""
    side = 0.5 + 0.5 * level
    return lower(k, n, side), upper(k, n, side)


def said(k: int, n: int) -> str:
    """In words: ``0 bad of 60: failure rate below 4.9 %``, ``3 bad of 60: failure rate 5.0 % [1.0, 13.9]``."""
    if k == 0:
        return f"0 bad of {n}: failure rate below {100 * upper(0, n):.1f} % (one-sided 95 %)"
    lo, hi = two_sided(k, n)
    return f"{k} bad of {n}: failure rate {100 * k / n:.1f} % [{100 * lo:.1f}, {100 * hi:.1f}] (95 %)"


def _solve(falling: Callable[[float], float], target: float) -> float:
    lo, hi = 0.0, 1.0
    for _ in range(80):
        mid = 0.5 * (lo + hi)
        lo, hi = (mid, hi) if falling(mid) > target else (lo, mid)
    return 0.5 * (lo + hi)


def _check(k: int, n: int, level: float) -> None:
    if not 0 <= k <= n or not 0 < n <= MOST:
        raise ValueError(f"{k} of {n} is no count of trials")
    if not 0.0 < level < 1.0:
        raise ValueError(f"a level between 0 and 1 is needed, not {level!r}")
