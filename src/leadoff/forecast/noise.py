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


def misfit_var(shares: Mapping[str, Vec], loose: float = 1.0) -> Vec:
    """Variance of the misfit at g = 1: a flat part and each term's share of the time; of the latter only
    the part ``loose`` that does not come back with the same settings."""
    row = misfit()
    out = np.full_like(next(iter(shares.values())), row["flat"] ** 2)
    for name in TERMS:
        out = out + loose * (row[name] * shares[name]) ** 2
    return out


def boot_var(by_curve: Vec, luck: Vec) -> Vec:
    """Variance from boot to boot, since pages fall otherwise into the second level. ``by_curve``: derivative of log
    time by the logit of the share that misses it."""
    return np.asarray((group("repeat", "house")["boot_miss"] * by_curve * luck) ** 2)


@lru_cache(maxsize=1)
def misfit() -> Mapping[str, float]:
    """Spread of the misfit by term at g = 1."""
    return group("noise", "misfit")


@lru_cache(maxsize=1)
def outlier() -> Mapping[str, float]:
    """Share and extra spread of runs whose declaration is wrong, for fitting and for predicting."""
    return group("noise", "outlier")


def recurring_share() -> float:
    """Share of a term's misfit variance that recurs with the settings behind it."""
    return group("noise", "recurs")["share"]
