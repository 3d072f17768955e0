"""Student's t and the power of a two-sample comparison, without SciPy (whose import costs more than a run).

Incomplete beta by its continued fraction, DLMF 8.17.22; checked against SciPy and published tables in tests.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from leadoff.forecast.normal import ndtr


def t_cdf(t: float, df: float) -> float:
    """Distribution function of Student's t with ``df`` > 0 degrees of freedom."""
    if not df > 0.0:
        raise ValueError(f"degrees of freedom must be positive, not {df!r}")
    tail = 0.5 * _beta(0.5 * df, 0.5, df / (df + t * t))
    return 1.0 - tail if t > 0.0 else tail


def f_tail(f: float, df: int, df2: int) -> float:
    """Chance that Fisher's F with ``df`` over ``df2`` degrees of freedom is ``f`` or more."""
    return _beta(0.5 * df2, 0.5 * df, df2 / (df2 + df * f)) if f > 0.0 else 1.0


@lru_cache(maxsize=256)
def t_quantile(p: float, df: float) -> float:
    """Quantile of Student's t, 0 < p < 1."""
    if not 0.0 < p < 1.0:
        raise ValueError(f"a probability between 0 and 1 is needed, not {p!r}")
    lo, hi = -1.0, 1.0
    while t_cdf(lo, df) > p:
        lo *= 2.0
    while t_cdf(hi, df) < p:
        hi *= 2.0
    for _ in range(200):
        mid = 0.5 * (lo + hi)
        lo, hi = (mid, hi) if t_cdf(mid, df) < p else (lo, mid)
    return 0.5 * (lo + hi)


def power(difference: float, sd: float, n: int, *, level: float = 0.05) -> float:
    """Chance that two samples of ``n`` show ``difference`` at this two-sided level, pooled t test."""
    df = 2.0 * n - 2.0
    shift = difference / sd * math.sqrt(0.5 * n)
    crit = t_quantile(1.0 - 0.5 * level, df)
    # Noncentral t as the normal probability averaged over the pooled deviation w = sqrt(chi2 / df).
    w = np.linspace(1e-6, 1.0 + 9.0 / math.sqrt(df), 2001)
    log_density = (df - 1.0) * np.log(w) - 0.5 * df * w * w
    density = np.exp(log_density - log_density.max())
    hit = ndtr(shift - crit * w) + ndtr(-shift - crit * w)
    return float((density * hit).sum() / density.sum())


def runs_each(difference: float, sd: float, *, power_wanted: float = 0.8, most: int = 10_000) -> int | None:
    """Fewest runs in each of two states that show ``difference`` with this power; None beyond ``most``."""
    if difference == 0.0 or sd <= 0.0:
        return None if difference == 0.0 else 2
    lo, hi = 1, 2
    while power(abs(difference), sd, hi) < power_wanted:
        lo, hi = hi, hi * 2
        if hi > most:
            return None
    while hi - lo > 1:
        mid = (lo + hi) // 2
        lo, hi = (lo, mid) if power(abs(difference), sd, mid) >= power_wanted else (mid, hi)
    return hi


def _beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b)."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta(b, a, 1.0 - x)
    log_front = a * math.log(x) + b * math.log1p(-x) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    f, c, d = 1.0, 1.0, 0.0
    for i in range(1000):
        m = i // 2
        if i == 0:
            step = 1.0
        elif i % 2 == 0:
            step = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        else:
            step = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1.0 / (1.0 + step * d)
        c = 1.0 + step / c
        f *= c * d
        if abs(1.0 - c * d) < 1e-16:
            break
    return math.exp(log_front) * (f - 1.0) / a
