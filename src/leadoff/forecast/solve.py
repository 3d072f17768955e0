"""The mode of a posterior and its curvature: damped Newton steps on many alternatives side by side."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from leadoff.forecast.layout import CENTRES, SLOTS, Index
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.noise import misfit_var
from leadoff.forecast.normal import Vec
from leadoff.forecast.priors import COLUMNS
from leadoff.forecast.terms import Arr, log_time

_COLUMNS = len(COLUMNS)


class Problem(NamedTuple):
    """Runs of one alternative or more. Shapes: ``at``, ``sds`` (runs, columns); ``features`` values
    (alternatives, runs); intervals and noise (runs,); ``level0`` (runs,) starts the level."""

    at: Index
    sds: Vec
    features: dict[str, Arr]
    lo: Vec
    hi: Vec
    noise_var: Vec
    level0: Vec


class Mode(NamedTuple):
    """Where the posterior peaks (alternatives, parameters), its curvature, and the log evidence (Laplace)."""

    z: Arr
    hessian: Arr
    log_evidence: Arr
    mu: Arr
    wide: Arr


def evaluate(problem: Problem, z: Arr) -> tuple[Arr, Arr, Arr]:
    """Log time, its derivative by z as (alternatives, runs, columns), and the misfit variance at g = 1."""
    padded = np.concatenate([z, np.zeros((len(z), 1))], axis=1)
    raw = padded[:, problem.at] * problem.sds
    p = {name: CENTRES[k] + raw[:, :, k] for k, name in enumerate(COLUMNS)}
    p["w.level"] = p["w.level"] + problem.level0
    mu, shares, grad = log_time(p, problem.features)
    mu = mu + raw[:, :, _COLUMNS:].sum(axis=2)
    made = np.empty((*mu.shape, _COLUMNS + SLOTS))
    for k, name in enumerate(COLUMNS):
        made[:, :, k] = grad[name]
    made[:, :, _COLUMNS:] = 1.0
    return mu, made * problem.sds, misfit_var(shares)


def spread(problem: Problem, columns: Arr, size: int) -> Arr:
    """Column derivatives as a full matrix (alternatives, runs, parameters)."""
    n = columns.shape[1]
    full = np.zeros((columns.shape[0], n, size + 1))
    rows = np.arange(n)
    for k in range(columns.shape[2]):
        full[:, rows, problem.at[:, k]] += columns[:, :, k]
    return full[:, :, :size]


def newton(
    problem: Problem,
    z: Arr,
    precision: Arr,
    mean: Arr,
    g: Arr,
    *,
    outlier_share: float,
    outlier_sd: float,
    steps: int = 30,
    tolerance: float = 1e-7,
) -> Mode:
    """Mode of prior N(mean, precision^-1) times the likelihood, for each alternative with its own ``g``.

    The misfit is held during a step and renewed between steps, so a noise scale is never part of the mode.
    """
    size = z.shape[1]
    g2 = (g * g)[:, None]
    log_det_prior = np.linalg.slogdet(precision)[1]
    value = np.full(len(z), -np.inf)
    active = np.ones(len(z), dtype=bool)
    for _ in range(steps):
        mu, columns, misfit = evaluate(problem, z)
        sd = np.sqrt(problem.noise_var + g2 * misfit)
        ll, d1, curve, wide = with_outliers(mu, problem.lo, problem.hi, sd, outlier_share, outlier_sd)
        off = z - mean
        pull = np.einsum("...ij,...j->...i", precision, off)
        value = ll.sum(axis=1) - 0.5 * (off * pull).sum(axis=1)
        jac = spread(problem, columns, size)
        grad = np.einsum("bnd,bn->bd", jac, d1) - pull
        hessian = precision + np.swapaxes(jac, 1, 2) @ (curve[:, :, None] * jac)
        step = np.linalg.solve(hessian, grad[:, :, None])[:, :, 0]
        active = np.abs(step).max(axis=1) > tolerance
        if not active.any():
            break
        z = _line_search(problem, z, step, value, precision, mean, sd, outlier_share, outlier_sd)
    evidence = value + 0.5 * log_det_prior - 0.5 * np.linalg.slogdet(hessian)[1]
    return Mode(z, hessian, evidence, mu, wide)


def _line_search(
    problem: Problem,
    z: Arr,
    step: Arr,
    value: Arr,
    precision: Arr,
    mean: Arr,
    sd: Arr,
    share: float,
    extra: float,
) -> Arr:
    """The longest of a few halvings that does not lower the posterior, for each alternative by itself."""
    # Three prior sd a step: farther, the exponentials of the terms overflow before the search can shrink it.
    longest = np.abs(step).max(axis=1)
    length = np.minimum(1.0, 3.0 / np.maximum(longest, 1e-300))
    out = z
    open_ = np.ones(len(z), dtype=bool)
    for _ in range(12):
        trial = z + length[:, None] * step
        mu, _, _ = evaluate(problem, trial)
        ll = with_outliers(mu, problem.lo, problem.hi, sd, share, extra)[0]
        off = trial - mean
        got = ll.sum(axis=1) - 0.5 * (off * np.einsum("...ij,...j->...i", precision, off)).sum(axis=1)
        good = open_ & (got >= value - 1e-10 * (1.0 + np.abs(value)))
        out = np.where(good[:, None], trial, out)
        open_ &= ~good
        if not open_.any():
            break
        length = np.where(open_, 0.5 * length, length)
    return out
