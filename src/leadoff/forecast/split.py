"""Where the time of one unit of work goes: the terms of the score model as shares, with their bands."""

from __future__ import annotations

import msgspec
import numpy as np

from leadoff.forecast.joint import Told
from leadoff.forecast.solve import parameters
from leadoff.forecast.terms import TERMS, Arr, log_time, taken

PARTS = (*TERMS, "refresh", "resident")
"""Core, line fills from the second-level cache, reads from memory, stores that leave the processor, replaced
lines written back, display accesses; refresh; resident programs and their interrupts."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """One part's percent of the time of a unit of work, with the middle 90 % of what the model holds possible."""

    part: str
    pct: float
    lo: float
    hi: float


def time_split(told: Told, k: int) -> tuple[Part, ...]:
    """The parts of ask ``k``, which add up to 100 %; largest spread is honest where runs never told it.

    Centre: mean over the components of the forecast. Band: moments of the mixture, each component's spread by
    finite steps along the root of its covariance; cut at 0 and 100 %.
    """
    z = told.z
    problem = told.asked._replace(
        features={n: v[:, [k]] for n, v in told.asked.features.items()},
        at=told.asked.at[[k]],
        sds=told.asked.sds[[k]],
        centres=told.asked.centres[[k]],
        level0=told.asked.level0[[k]],
    )

    def shares(at: Arr) -> Arr:
        f = {n: np.tile(v, (len(at) // len(z), 1)) for n, v in problem.features.items()}
        p, _ = parameters(problem, at)
        found = log_time(p, f)[1]
        resident, refresh = taken(p, f)
        left = 1.0 - resident - refresh
        return np.stack([*(found[t] * left for t in TERMS), refresh, resident])[:, :, 0]

    centre = shares(z)
    known = told.hessian.shape[1]
    half = np.linalg.cholesky(np.linalg.inv(told.hessian))
    steps = np.repeat(z[None], known, axis=0)
    steps[:, :, :known] += 0.1 * np.moveaxis(half, 2, 0)
    moved = shares(steps.reshape(-1, z.shape[1])).reshape(len(PARTS), known, len(z))
    var = (((moved - centre[:, None]) / 0.1) ** 2).sum(axis=1)
    w = told.board.weights / told.board.weights.sum()
    mean = centre @ w
    sd = np.sqrt(np.maximum(var @ w + ((centre - mean[:, None]) ** 2) @ w, 0.0))
    lo, hi = np.clip(mean - 1.645 * sd, 0.0, 1.0), np.clip(mean + 1.645 * sd, 0.0, 1.0)
    return tuple(
        Part(part=name, pct=100.0 * float(m), lo=100.0 * float(a), hi=100.0 * float(b))
        for name, m, a, b in zip(PARTS, mean, lo, hi, strict=True)
    )
