"""The mode of a posterior and its curvature: damped Newton steps on many alternatives side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from leadoff.forecast.climb import Look, climb
from leadoff.forecast.geometry import FIELDS
from leadoff.forecast.layout import BEHIND, SLOTS, Index
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.noise import misfit, misfit_var
from leadoff.forecast.normal import Vec
from leadoff.forecast.priors import COLUMNS
from leadoff.forecast.terms import Arr, log_time

_COLUMNS = len(COLUMNS)


class Problem(NamedTuple):
    """Runs of one alternative or more. Shapes: ``at``, ``sds`` (runs, columns); ``centres`` (runs, ``COLUMNS``);
    ``features`` values (alternatives, runs); intervals and noise (runs,); ``level0`` (runs,) starts the level;
    ``loose``: share of the terms' misfit that is new in every state."""

    at: Index
    sds: Vec
    centres: Arr
    features: dict[str, Arr]
    lo: Vec
    hi: Vec
    noise_var: Vec
    level0: Vec
    loose: float = 1.0


class Mode(NamedTuple):
    """Where the posterior peaks (alternatives, parameters), its curvature, and the log evidence (Laplace)."""

    z: Arr
    hessian: Arr
    log_evidence: Arr
    mu: Arr
    wide: Arr


def parameters(problem: Problem, z: Arr) -> tuple[dict[str, Arr], Arr]:
    """Natural parameters (in logs) of every run by column name, and all columns' raw deviations."""
    padded = np.concatenate([z, np.zeros((len(z), 1))], axis=1)
    raw = padded[:, problem.at] * problem.sds
    p = {name: problem.centres[:, k] + raw[:, :, k] for k, name in enumerate(COLUMNS)}
    p["w.level"] = p["w.level"] + problem.level0
    return p, raw


def evaluate(problem: Problem, z: Arr) -> tuple[Arr, Arr, Arr]:
    """Log time, its derivative by z as (alternatives, runs, columns), and the misfit variance at g = 1."""
    p, raw = parameters(problem, z)
    mu, shares, grad = log_time(p, problem.features)
    end = _COLUMNS + SLOTS
    mu = mu + raw[:, :, _COLUMNS:end].sum(axis=2)
    bare = misfit()["bare"]
    shares = {n: np.where(problem.features["inner"] > 0.0, s, bare * s) for n, s in shares.items()}
    made = np.ones((*mu.shape, end + len(BEHIND)))
    for k, name in enumerate(COLUMNS):
        made[:, :, k] = grad[name]
    for k, term in enumerate(BEHIND):
        # Linear in the deviation: it is a few percent of a term.
        made[:, :, end + k] = shares[term]
        mu = mu + shares[term] * raw[:, :, end + k]
    return mu, made * problem.sds, misfit_var(shares, problem.loose)


def columns_by(problem: Problem, columns: Arr, name: str) -> Arr:
    """Derivatives by one of ``COLUMNS`` itself, in logs; 0 where a run does not have it."""
    k = COLUMNS.index(name)
    return np.asarray(columns[:, :, k] / np.where(problem.sds[:, k] > 0.0, problem.sds[:, k], np.inf))


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

    def look(at: Arr) -> tuple[Arr, Arr, Arr, Arr, Arr, Arr, Arr]:
        mu, columns, misfit = evaluate(problem, at)
        sd: Arr = np.sqrt(problem.noise_var + g2 * misfit).astype(np.float64)
        ll, d1, curve, wide = with_outliers(mu, problem.lo, problem.hi, sd, outlier_share, outlier_sd)
        pull = np.einsum("...ij,...j->...i", precision, at - mean)
        value = ll.sum(axis=1) - 0.5 * ((at - mean) * pull).sum(axis=1)
        jac = spread(problem, columns, size)
        grad = np.einsum("bnd,bn->bd", jac, d1) - pull
        hessian = precision + np.swapaxes(jac, 1, 2) @ (curve[:, :, None] * jac)
        return value, grad, hessian, sd, mu, wide, ll

    held: list[Arr] = []
    last: list[tuple[Arr, tuple[Arr, ...]]] = []

    def see(at: Arr) -> Look:
        seen = look(at)
        value, grad, hessian, sd, _, _, _ = seen
        held[:] = [sd]
        last[:] = [(at, seen)]
        step: Arr = np.linalg.solve(hessian, grad[:, :, None])[:, :, 0].astype(np.float64)
        return Look(value, step, (grad * step).sum(axis=1))

    def value_at(at: Arr) -> Arr:
        mu = evaluate(problem, at)[0]
        ll = with_outliers(mu, problem.lo, problem.hi, held[0], outlier_share, outlier_sd)[0]
        off = at - mean
        pull = np.einsum("...ij,...j->...i", precision, off)
        return np.asarray(ll.sum(axis=1) - 0.5 * (off * pull).sum(axis=1))

    z = climb(z, see, value_at, steps=steps, tolerance=tolerance)
    seen = last[0][1] if last and np.array_equal(last[0][0], z) else look(z)
    value, _, hessian, _, mu, wide, _ = seen
    evidence = value + 0.5 * log_det_prior - 0.5 * np.linalg.slogdet(hessian)[1]
    return Mode(z, hessian, evidence, mu, wide)


def local_problem(
    base: Problem, mine: Sequence[int], told: Sequence[Sequence[Sequence[float]]], own: Index
) -> tuple[Problem, Index]:
    """The runs ``mine`` with one row of features for each alternative, on the parameters they touch alone."""
    pick = list(mine)
    at = base.at[pick]
    used = np.unique(at[at >= 0]) if pick else np.empty(0, dtype=np.intp)
    keep = np.concatenate([own, np.setdiff1d(used, own)]).astype(np.intp)
    where = {int(i): k for k, i in enumerate(keep)}
    where[-1] = len(keep)
    local = np.array([[where[int(i)] for i in row] for row in at], dtype=np.intp).reshape(at.shape)
    table = np.array(told, dtype=np.float64).reshape(len(told), len(pick), len(FIELDS))
    problem = Problem(
        at=local,
        sds=base.sds[pick],
        centres=base.centres[pick],
        features={name: table[:, :, k] for k, name in enumerate(FIELDS)},
        lo=base.lo[pick],
        hi=base.hi[pick],
        noise_var=base.noise_var[pick],
        level0=base.level0[pick],
    )
    return problem, keep
