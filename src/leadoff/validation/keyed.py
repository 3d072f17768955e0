"""Random streams keyed by content, so that one more board or run never moves the draws of another."""

from __future__ import annotations

import hashlib
from functools import lru_cache

import numpy as np


def generator(seed: int, *keys: object) -> np.random.Generator:
    """A PCG64 stream that depends on the seed and the text of the keys, and on nothing else."""
    text = "\x1f".join((str(seed), *(str(k) for k in keys)))
    return np.random.Generator(np.random.PCG64(int.from_bytes(hashlib.sha256(text.encode()).digest()[:16])))


@lru_cache(maxsize=65536)
def normal(seed: int, *keys: object) -> float:
    """One standard normal draw of the keyed stream."""
    return float(generator(seed, *keys).standard_normal())


def uniform(seed: int, *keys: object) -> float:
    """One draw between 0 and 1 of the keyed stream."""
    return float(generator(seed, *keys).random())
