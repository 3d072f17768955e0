"""Gains of several acts drawn together, for a list: what two states share they gain or lose together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.gap import gap_draws
from leadoff.forecast.joint import Ask
from leadoff.plan.now import Act
from leadoff.plan.records import record_states, untold_of
from leadoff.plan.worth import What
from leadoff.record.runs import Workload


def gain_of(act: Act) -> float:
    """Gain of an act in percent as a list takes it; without a record what it is worth stands for it."""
    return act.mean_gain_pct if act.gain_sd_pct > 0.0 else 100.0 * act.worth_per_minute


def drawn_gains(
    acts: Sequence[Act],
    setups: Sequence[Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    *,
    draws: int,
    cache_dir: Path | None = None,
) -> NDArray[np.float64]:
    """Draws of ``gain_of``, (acts, draws), always the same; ``setups``: the state of each act, all of one board."""
    out = np.repeat(np.array([gain_of(a) for a in acts])[:, None], draws, axis=1)
    bases = {n: d.setup for n, d in record_states(setups[0].board, workloads, runs).items()}
    by_name = {w.name: w for w in workloads}
    unsure = [k for k, a in enumerate(acts) if a.workload in bases and a.gain_sd_pct > 0.0]
    if unsure:
        asks = [Ask(by_name[acts[k].workload], setups[k]) for k in unsure]
        out[unsure] -= 100.0 * gap_draws(asks, bases, workloads, runs, draws=draws, cache_dir=cache_dir)
    rng = np.random.default_rng(21)
    common: dict[What, NDArray[np.float64]] = {}
    left = {n: untold_of(by_name[n], setups[0].board, runs) for n in bases}
    for k in unsure:
        name = acts[k].workload
        for what, pct in left[name].between(setups[k], bases[name]):
            if what not in common:
                common[what] = rng.standard_normal(draws)
            out[k] += pct * common[what]
    return out
