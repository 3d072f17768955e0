"""References for tests, made up and repeatable."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def info_of(kinds: NDArray[np.int64], sizes: NDArray[np.int64]) -> NDArray[np.uint8]:
    """Info bytes from kinds (0 load, 1 store, 3 fetch) and bytes."""
    return (kinds | (sizes - 1) << 2).astype(np.uint8)


def loopy(
    n: int, seed: int, span: int = 1 << 16, stores: float = 0.3
) -> tuple[NDArray[np.uint32], NDArray[np.uint8]]:
    """References with loops, strides and strays, some across lines."""
    draw = np.random.default_rng(seed)
    start = draw.integers(0, span, n // 50 + 1)
    stride = draw.choice([1, 4, 4, 8, 16, 64, 260], n // 50 + 1)
    at = (np.repeat(start, 50) + np.repeat(stride, 50) * np.tile(np.arange(50), n // 50 + 1))[:n] % span
    again = draw.random(n) < 0.4
    at[again] = draw.integers(0, span // 16, int(again.sum()))
    kinds = (draw.random(n) < stores).astype(np.int64)
    return at.astype(np.uint32), info_of(kinds, draw.choice([1, 2, 4, 4, 8], n))
