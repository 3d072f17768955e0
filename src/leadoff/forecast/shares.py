"""How much of a workload's time goes with the clocks of cache and memory, as the score model has learnt it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path

import msgspec
import numpy as np

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.geometry import Gap
from leadoff.forecast.joint import Ask, tell
from leadoff.forecast.needs import undefined_because
from leadoff.forecast.store import fit_of
from leadoff.record.runs import Workload

_STEP = Fraction(1005, 1000)
_BEHIND = ("bus_mhz", "mem_mhz", "l2_mhz")
_Z90 = 1.6448536269514722


def memory_shares(
    workloads: Sequence[Workload],
    runs: tuple[Observed, ...],
    setup: Setup,
    *,
    cache_dir: Path | None = None,
) -> Mapping[str, tuple[float, float, float]]:
    """Share of the time spent on cache, memory, stores and victims, by workload: 5, 50 and 95 % points.

    The derivative of log time by the clocks behind the processor, display clock held, by the delta method.
    Workloads that nothing can be said of are left out. Level by runs; without runs of the workload there is none.
    """
    fit = fit_of(workloads, runs, cache_dir)
    known = {d.workload for d in fit.rows.data}
    able = [w for w in workloads if w.name in known and not undefined_because(w, setup)]
    if not able:
        return {}
    faster = {n: c * _STEP if n in _BEHIND and c is not None else c for n, c in setup.clocks.items()}
    quick = msgspec.structs.replace(setup, clocks=faster)
    try:
        told = tell(fit, [a for w in able for a in (Ask(w, setup), Ask(w, quick))], setup.board)
    except Gap:
        return {}
    step = float(np.log(float(_STEP)))
    out = {}
    weights = told.board.weights / told.board.weights.sum()
    for k, workload in enumerate(able):
        # The state's own misfit is left out: it is no part of the derivative.
        each = (told.plain_mean[:, 2 * k] - told.plain_mean[:, 2 * k + 1]) / step
        gap = (told.jac[:, 2 * k] - told.jac[:, 2 * k + 1]) / step
        solved = np.linalg.solve(told.hessian, gap[:, :, None])[:, :, 0]
        inside = (gap * solved).sum(axis=1)
        mean = float(weights @ each)
        sd = float(np.sqrt(weights @ (inside + (each - mean) ** 2)))
        low, middle, high = (float(np.clip(mean + z * sd, 0.02, 0.98)) for z in (-_Z90, 0.0, _Z90))
        out[workload.name] = (low, middle, high)
    return out
