"""How sure the difference between two states of one board is: surer than either score where they share much."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.joint import Ask, Told, tell
from leadoff.forecast.layout import SLOTS
from leadoff.forecast.normal import Vec
from leadoff.forecast.priors import COLUMNS
from leadoff.forecast.store import fit_of
from leadoff.forecast.terms import Arr
from leadoff.record.runs import Workload


class Gap(NamedTuple):
    """Spread of a difference of two log times about its mean: a mixture of normals, since what a setting that nobody
    knows turns out to be moves both states at once. ``shift``: each part's mean less that of the whole."""

    weight: tuple[float, ...]
    shift: tuple[float, ...]
    sd: tuple[float, ...]

    @property
    def whole_sd(self) -> float:
        """Standard deviation of the whole."""
        parts = zip(self.weight, self.shift, self.sd, strict=True)
        return math.sqrt(math.fsum(w * (m * m + s * s) for w, m, s in parts))

    def widened(self, sd: float) -> Gap:
        """With a further spread in every part."""
        return self._replace(sd=tuple(math.hypot(s, sd) for s in self.sd))


def gaps(told: Told, of: Sequence[int], base: Sequence[int]) -> list[Gap]:
    """How far the log time of each ask of ``of`` less that of its ask of ``base`` may lie from its mean, no noise.

    Grows with what changes between them: parameters that no run tested, settings that no run touched, misfits that
    do not come back. ``told`` was made with ``apart``.
    """
    apart = _parts(told, of, base)
    w = tuple(apart.weight.tolist())
    shift, sd = apart.mean - apart.weight @ apart.mean, np.sqrt(apart.var(told))
    return [Gap(w, tuple(shift[:, k].tolist()), tuple(sd[:, k].tolist())) for k in range(len(of))]


def gap_draws(
    asks: Sequence[Ask],
    bases: Mapping[str, Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    *,
    draws: int,
    cache_dir: Path | None = None,
) -> Arr:
    """The same for some asks drawn together, each against its workload's base: (asks, draws), always the same.
    Asks and bases are of one board and can be forecast."""
    names = sorted({a.workload.name for a in asks})
    by_name = {a.workload.name: a.workload for a in asks}
    whole = [*asks, *(Ask(by_name[n], bases[n]) for n in names)]
    told = tell(fit_of(workloads, runs, cache_dir), whole, asks[0].setup.board, rough=True, apart=True)
    base = [len(asks) + names.index(a.workload.name) for a in asks]
    apart = _parts(told, range(len(asks)), base)
    solved = np.linalg.solve(told.hessian, np.swapaxes(apart.jac, 1, 2))
    cov = np.einsum("bnd,bdm->bnm", apart.jac, solved) + np.einsum("bnu,bmu->bnm", apart.new, apart.new)
    at = np.arange(len(asks))
    cov[:, at, at] += apart.own
    values, vectors = np.linalg.eigh(cov)
    root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
    rng = np.random.default_rng(20)
    part = rng.permutation(np.searchsorted(np.cumsum(apart.weight), (np.arange(draws) + 0.5) / draws))
    part = np.minimum(part, len(apart.weight) - 1)
    shift = apart.mean - apart.weight @ apart.mean
    out: Arr = np.einsum("dnm,dm->nd", root[part], rng.standard_normal((draws, len(asks)))) + shift[part].T
    return out


class _Parts(NamedTuple):
    """Differences by component: of means, of derivatives, of what no run touched (the base's own misfit among it),
    and the misfit of each ask alone."""

    weight: Vec
    mean: Arr
    jac: Arr
    new: Arr
    own: Arr

    def var(self, told: Told) -> Arr:
        """Variance of each difference by component."""
        solved = np.linalg.solve(told.hessian, np.swapaxes(self.jac, 1, 2))
        inside = np.einsum("bnd,bdn->bn", self.jac, solved) + np.einsum("bnu,bnu->bn", self.new, self.new)
        return np.asarray(inside + self.own)


def _parts(told: Told, of: Sequence[int], base: Sequence[int]) -> _Parts:
    one, two = list(of), list(base)
    live = 1.0 - _alike(told, one, two)
    against = np.equal.outer(np.array(two), np.unique(two))
    shared = np.sqrt(told.misfit_var[:, two])[:, :, None] * against
    return _Parts(
        told.board.weights / told.board.weights.sum(),
        live * (told.mean[:, one] - told.mean[:, two]),
        live[:, :, None] * (told.jac[:, one] - told.jac[:, two]),
        live[:, :, None] * np.concatenate([told.unseen[:, one] - told.unseen[:, two], shared], axis=2),
        live * told.misfit_var[:, one],
    )


def _alike(told: Told, one: list[int], two: list[int]) -> Arr:
    """Where two states amount to the same, by component: they are one, or they differ in a setting that is not known
    and has, there, the very value that the other one names."""
    asked = told.asked
    same = np.all([np.isclose(f[:, one], f[:, two], rtol=1e-12) for f in asked.features.values()], axis=0)
    factors = asked.at[:, len(COLUMNS) : len(COLUMNS) + SLOTS]
    return np.asarray(same & (factors[one] == factors[two]).all(axis=1), dtype=np.float64)
