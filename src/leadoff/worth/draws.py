"""Draws of uncertain amounts: one value for each of many equal slices of chance, in an order of its own.

Every amount is drawn at the same chances in every call (common numbers), so that a larger amount gives a
larger draw each time: what follows is monotone, not only on average.
"""

from __future__ import annotations

import random
from functools import lru_cache
from statistics import NormalDist
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from leadoff.record.quantity import Quantity
from leadoff.worth.rows import limit

Vec: TypeAlias = NDArray[np.float64]


@lru_cache(maxsize=64)
def slices(name: str) -> Vec:
    """Standard normal values at the middles of equal slices, shuffled by the amount's own name."""
    normal, count = NormalDist(), int(limit("draws"))
    middles = [normal.inv_cdf((n + 0.5) / count) for n in range(count)]
    random.Random(f"leadoff:{name}").shuffle(middles)
    return np.array(middles)


def draws(name: str, q: Quantity) -> Vec:
    """Draws of an amount of money: the value is the middle, ``lo`` and ``hi`` hold ``level``. Never negative.

    Above zero the two sides are log-normal, each with its own width, because a price can double and cannot
    fall below nothing; a band that begins at zero falls evenly to it.
    """
    value, lo, hi = _band(name, q)
    z = slices(name) / _reach(q)
    edge = np.where(z > 0, hi, lo)
    if value > 0 and lo > 0:
        return np.asarray(value * np.exp(np.abs(z) * np.log(edge / value)))
    return np.maximum(0.0, value + np.abs(z) * (edge - value))


def chances(name: str, q: Quantity) -> Vec:
    """Draws of a probability: as above on the log odds, always inside 0 to 1."""
    value, lo, hi = _band(name, q)
    if not 0 <= value <= 1:
        raise ValueError(f"{name} is {value}, a probability lies in 0 to 1")
    z = slices(name) / _reach(q)
    if value in (0.0, 1.0) or lo == hi:
        return np.full_like(z, value)
    low, middle, high = (np.log(p / (1 - p)) for p in (max(lo, 1e-6), value, min(hi, 1 - 1e-6)))
    x = middle + np.where(z > 0, (high - middle) * z, (middle - low) * z)
    return np.asarray(1 / (1 + np.exp(-x)))


def _band(name: str, q: Quantity) -> tuple[float, float, float]:
    if q.value is None:
        raise ValueError(f"{name} has no value: give it a band before it is drawn")
    return q.value, (q.value if q.lo is None else q.lo), (q.value if q.hi is None else q.hi)


def _reach(q: Quantity) -> float:
    return NormalDist().inv_cdf(0.5 + q.level / 2)
