"""How far a run may lie from the model: repeats, boots, and a misfit that grows with the terms at stake."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from leadoff.forecast.normal import Vec
from leadoff.forecast.rows import group
from leadoff.forecast.terms import TERMS


@lru_cache(maxsize=1)
def grid() -> tuple[Vec, Vec]:
    """Scales g of the misfit and their log prior weights."""
    row = group("noise", "grid")
    g = np.array([v for k, v in sorted(row.items()) if k.startswith("n")])
    z = np.log(g / row["median"]) / row["log_sd"]
    return g, -0.5 * z * z


def misfit_var(shares: Mapping[str, Vec]) -> Vec:
    """Variance of the misfit at g = 1: a flat part and each term's share of the time."""
    row = _misfit()
    out = np.full_like(next(iter(shares.values())), row["flat"] ** 2)
    for name in TERMS:
        out = out + (row[name] * shares[name]) ** 2
    return out


@lru_cache(maxsize=1)
def _misfit() -> Mapping[str, float]:
    return group("noise", "misfit")


@lru_cache(maxsize=1)
def outlier() -> Mapping[str, float]:
    """Share and extra spread of runs whose declaration is wrong, for fitting and for predicting."""
    return group("noise", "outlier")
