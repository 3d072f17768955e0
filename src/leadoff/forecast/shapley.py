"""Exact Shapley values as one matrix on the predictions of all subsets."""

from __future__ import annotations

from functools import lru_cache
from math import factorial

import numpy as np

from leadoff.forecast.normal import Vec

MOST = 8
"""Most factors split exactly (256 subsets)."""


@lru_cache(maxsize=16)
def shapley_matrix(k: int) -> Vec:
    """Matrix A (k, 2^k): effect i is the sum over subsets m of A[i, m] x value of subset m (bit i of m: factor
    i taken). Rows sum over all effects to value(all) - value(none): the effects are an exact split."""
    out = np.zeros((k, 2**k))
    weight = [factorial(s) * factorial(k - s - 1) / factorial(k) for s in range(k)]
    for i in range(k):
        for m in range(2**k):
            if not m >> i & 1:
                w = weight[m.bit_count()]
                out[i, m | 1 << i] += w
                out[i, m] -= w
    return out
