"""How sure the difference between two states of one board is: surer than either score where they share much."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.joint import Ask, Told, tell
from leadoff.forecast.normal import Vec
from leadoff.forecast.store import fit_of
from leadoff.forecast.terms import Arr
from leadoff.record.runs import Workload


def gap_sds(told: Told, of: Sequence[int], base: Sequence[int]) -> Vec:
    """Standard deviation of the log time of each ask of ``of`` less that of its ask of ``base``; no run's noise.

    Grows with what changes between them: parameters that no run tested, settings that no run touched, misfits that
    do not come back. ``told`` was made with ``apart``."""
    gap, jac, new, own = _parts(told, of, base)
    w = told.board.weights / told.board.weights.sum()
    solved = np.linalg.solve(told.hessian, np.swapaxes(jac, 1, 2))
    var = np.einsum("bnd,bdn->bn", jac, solved) + np.einsum("bnu,bnu->bn", new, new)
    var = var + own + told.misfit_var[:, list(base)]
    var[:, np.array(of) == np.array(base)] = 0.0
    out: Vec = np.sqrt(w @ (var + (gap - w @ gap) ** 2))
    return out


def gap_draws(
    asks: Sequence[Ask],
    bases: Mapping[str, Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    *,
    draws: int,
    cache_dir: Path | None = None,
) -> Arr:
    """What the log times of some asks, each less that of its workload's base, may be off their mean, drawn together:
    (asks, draws), always the same. Asks and bases are of one board and can be forecast."""
    names = sorted({a.workload.name for a in asks})
    by_name = {a.workload.name: a.workload for a in asks}
    whole = [*asks, *(Ask(by_name[n], bases[n]) for n in names)]
    told = tell(fit_of(workloads, runs, cache_dir), whole, asks[0].setup.board, rough=True, apart=True)
    of, base = range(len(asks)), [len(asks) + names.index(a.workload.name) for a in asks]
    gap, jac, new, own = _parts(told, of, base)
    w = told.board.weights / told.board.weights.sum()
    mean = w @ gap
    solved = np.linalg.solve(told.hessian, np.swapaxes(jac, 1, 2))
    cov = np.einsum("b,bnd,bdm->nm", w, jac, solved) + np.einsum("b,bnu,bmu->nm", w, new, new)
    cov += np.einsum("b,bn,bm->nm", w, gap - mean, gap - mean) + np.diag(w @ own)
    shared = w @ told.misfit_var[:, base]
    cov += np.equal.outer(base, base) * np.sqrt(np.outer(shared, shared))
    values, vectors = np.linalg.eigh(cov)
    normal = np.random.default_rng(20).standard_normal((len(asks), draws))
    out: Arr = (vectors * np.sqrt(np.maximum(values, 0.0))) @ normal
    return out


def _parts(told: Told, of: Sequence[int], base: Sequence[int]) -> tuple[Arr, Arr, Arr, Arr]:
    """Differences of means, derivatives and unseen derivatives by component, and the misfit of each ask alone."""
    one, two = list(of), list(base)
    return (
        told.mean[:, one] - told.mean[:, two],
        told.jac[:, one] - told.jac[:, two],
        told.unseen[:, one] - told.unseen[:, two],
        told.misfit_var[:, one],
    )
