"""How well a workload repeats on this bench, from repeats alone."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import msgspec
import numpy as np

from leadoff.forecast import scale
from leadoff.forecast.normal import Vec, log_interval
from leadoff.forecast.rows import group
from leadoff.record.runs import Run, Workload

_NODES = 41
_REACH = 3.5


class Repeatability(msgspec.Struct, frozen=True, kw_only=True):
    """Standard deviation of one run in log score, with 90 % limits and the pairs that taught it.

    ``assumed`` until ten pairs have been seen: before that the prior speaks, and the screen must say so.
    """

    sd_log: float
    lo: float
    hi: float
    pairs: int
    assumed: bool


def repeatability(workload: Workload, runs: Iterable[Run]) -> Repeatability:
    """Posterior of the repeatability of one workload.

    Prior log-normal; each run with several readings enters by the probability of its printed intervals with
    the level integrated out, so a coarse display does not read as perfect repetition nor as noise.
    ``sd_log`` is the root of the mean variance.
    """
    repeats = tuple(
        tuple(scale.interval(workload, r) for r in readings)
        for run in runs
        if run.workload == workload.name and len(readings := scale.usable(run)) > 1
    )
    return _posterior(tuple(sorted(repeats)))


@lru_cache(maxsize=64)
def _posterior(repeats: tuple[tuple[tuple[float, float], ...], ...]) -> Repeatability:
    house = group("repeat", "house")
    z = np.linspace(-_REACH, _REACH, _NODES)
    sds = house["median"] * np.exp(house["log_sd"] * z)
    log_weight = -0.5 * z * z
    pairs = 0
    for readings in repeats:
        log_weight = log_weight + _log_likelihood(np.array(readings), sds)
        pairs += len(readings) - 1
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    below = np.cumsum(weight) - 0.5 * weight
    lo, hi = np.interp([0.05, 0.95], below, sds)
    return Repeatability(
        sd_log=float(np.sqrt(weight @ sds**2)),
        lo=float(lo),
        hi=float(hi),
        pairs=pairs,
        assumed=pairs < house["pairs_measured"],
    )


def _log_likelihood(ends: Vec, sds: Vec) -> Vec:
    """Log probability of the intervals for each standard deviation, flat level integrated out."""
    mid = 0.5 * (ends[:, 0] + ends[:, 1])
    spread = float(mid.std()) + float(np.diff(ends, axis=1).max())
    reach = 6.0 * sds / np.sqrt(len(mid)) + spread
    level = mid.mean() + reach[:, None] * np.linspace(-1.0, 1.0, 61)
    width = np.maximum(ends[:, 1] - ends[:, 0], 1e-9)
    low = (ends[:, 0] - level[:, :, None]) / sds[:, None, None]
    logs = log_interval(low, low + width / sds[:, None, None]).sum(axis=2)
    top = logs.max(axis=1)
    # A flat level has no scale of its own: the step carries it, the same unit for every sd.
    return np.asarray(top + np.log(np.exp(logs - top[:, None]).sum(axis=1) * reach))
