"""One board refitted by itself against what all the others teach, for every alternative and misfit scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from msgspec.structs import astuple

from leadoff.forecast import noise
from leadoff.forecast.fit import Alternative, Fit
from leadoff.forecast.geometry import FIELDS, demand
from leadoff.forecast.layout import Index
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.normal import Vec
from leadoff.forecast.solve import Mode, Problem, newton, spread
from leadoff.forecast.solve import evaluate as evaluate_all
from leadoff.forecast.terms import Arr


class Board(NamedTuple):
    """Refit of one board. ``keep``: indices of its parameters in the layout, its own first. ``weights``:
    of each component (misfit scale major, alternative minor), ``g`` and ``alternative`` say which it is."""

    keep: Index
    problem: Problem
    rows: tuple[int, ...]
    mode: Mode
    weights: Vec
    g: Vec
    alternative: Index
    prior_sd: Arr


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
        features={name: table[:, :, k] for k, name in enumerate(FIELDS)},
        lo=base.lo[pick],
        hi=base.hi[pick],
        noise_var=base.noise_var[pick],
        level0=base.level0[pick],
    )
    return problem, keep


def refit(fit: Fit, board: str, alternatives: Sequence[Alternative], wanted: Index) -> Board:
    """Posterior of one board's parameters and the shared ones it needs, mixed over alternatives and misfit.

    ``wanted``: further layout indices that the states asked for depend on. From each joint mode the board's
    own runs are taken out by the Schur complement; what remains is a normal on the shared parameters.
    """
    own = fit.layout.board_of().get(board, np.empty(0, dtype=np.intp))
    mine = tuple(i for i, d in enumerate(fit.rows.data) if d.setup.board == board)
    # The alternative behind the joint mode comes last: it only ties the misfit scales together.
    chosen = fit.rows.alternatives[board][fit.chosen[board]] if mine else {}
    tried = (*alternatives, chosen)
    count = len(tried)
    seen = [fit.rows.data[i] for i in mine]
    told = [[astuple(demand(fit.rows.workloads[d.workload], d.setup, over)) for d in seen] for over in tried]
    problem, keep = local_problem(fit.problem, mine, told, own)
    extra = np.setdiff1d(wanted, keep)
    if len(extra):
        # The dummy slot sits behind the last parameter: it moves when parameters are added.
        at = np.where(problem.at == len(keep), len(keep) + len(extra), problem.at)
        problem = problem._replace(at=at)
        keep = np.concatenate([keep, extra]).astype(np.intp)
    scales, log_prior = noise.grid()
    row = noise.outlier()
    parts: list[tuple[Arr, Arr]] = []
    for mode, g in zip(fit.modes, scales, strict=True):
        parts.append(_without(fit, mode, float(g), mine, own, keep, row["share"], row["sd"]))
    precision = np.repeat(np.stack([np.linalg.inv(c) for _, c in parts]), count, axis=0)
    mean = np.repeat(np.stack([m for m, _ in parts]), count, axis=0)
    g_all = np.repeat(scales, count)
    tiled = problem._replace(features={n: np.tile(v, (len(scales), 1)) for n, v in problem.features.items()})
    start = np.repeat(np.stack([m.z[0][keep] for m in fit.modes]), count, axis=0)
    got = newton(
        tiled,
        start,
        precision,
        mean,
        g_all,
        outlier_share=row["share"],
        outlier_sd=row["sd"],
        steps=20,
        tolerance=1e-5,
    )
    joint = np.array([float(m.log_evidence[0]) for m in fit.modes])
    local = got.log_evidence.reshape(len(scales), count)
    log_weight = (log_prior + joint)[:, None] + local - local[:, [-1]]
    log_weight[:, -1] = -np.inf
    weights = np.exp(log_weight - log_weight.max()).ravel()
    return Board(
        keep=keep,
        problem=tiled,
        rows=mine,
        mode=got,
        weights=weights / weights.sum(),
        g=g_all,
        alternative=np.tile(np.arange(count), len(scales)).astype(np.intp),
        prior_sd=np.sqrt(np.stack([np.diag(c) for _, c in parts])),
    )


def _without(
    fit: Fit,
    mode: Mode,
    g: float,
    mine: tuple[int, ...],
    own: Index,
    keep: Index,
    share: float,
    extra_sd: float,
) -> tuple[Arr, Arr]:
    """Mean and covariance of the kept parameters given all runs but the board's own.

    One Newton step from the joint mode with the board's gradient and curvature taken out; its own parameters
    fall back to their prior by themselves.
    """
    size = len(fit.layout)
    z = mode.z[0]
    hessian = mode.hessian[0]
    if not mine:
        cov = np.linalg.inv(hessian)
        return z[keep], cov[np.ix_(keep, keep)]
    pick = list(mine)
    part = fit.problem._replace(
        at=fit.problem.at[pick],
        sds=fit.problem.sds[pick],
        features={n: v[:, pick] for n, v in fit.problem.features.items()},
        lo=fit.problem.lo[pick],
        hi=fit.problem.hi[pick],
        noise_var=fit.problem.noise_var[pick],
        level0=fit.problem.level0[pick],
    )
    mu, columns, misfit = evaluate_all(part, mode.z)
    sd = np.sqrt(part.noise_var + g * g * misfit)
    _, d1, curve, _ = with_outliers(mu, part.lo, part.hi, sd, share, extra_sd)
    jac = spread(part, columns, size)[0]
    rest = hessian - jac.T @ (curve[0][:, None] * jac)
    gradient = -(jac.T @ d1[0])
    cov = np.linalg.inv(rest)
    mean = z + cov @ gradient
    return mean[keep], cov[np.ix_(keep, keep)]
