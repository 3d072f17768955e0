"""The joint mode of a whole book by its arrow structure: boards meet only in the shared parameters.

Each board's own parameters are eliminated by the Schur complement, so a step costs one solve of the size of
the shared part, however many boards there are; taking one board out again is the same elimination undone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from leadoff.forecast.climb import Look, climb
from leadoff.forecast.layout import BOARD_COLUMNS, Index
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.normal import Vec
from leadoff.forecast.solve import Problem, evaluate
from leadoff.forecast.terms import Arr

_OWN = np.array(BOARD_COLUMNS, dtype=np.intp)


class Arrow(NamedTuple):
    """A joint mode. ``z``: shared parameters first, then each board's in blocks. ``schur``: precision of the
    shared ones with all boards in; by board: ``gradient`` and ``own`` curvature that its runs put on the
    shared ones, ``fill`` what its elimination took from them."""

    z: Vec
    schur: Arr
    gradient: Arr
    own: Arr
    fill: Arr
    log_evidence: float
    wide: Vec


def joint_mode(
    problem: Problem,
    start: Vec,
    shared: int,
    boards: Index,
    g: float,
    *,
    outlier_share: float,
    outlier_sd: float,
    steps: int = 15,
    tolerance: float = 1e-6,
) -> Arrow:
    """Mode of standard normal priors times the likelihood. ``boards``: number of each run's board.

    The misfit is held during a step and renewed between steps, so no noise scale is part of the mode. Ends
    when a step promises less than ``tolerance`` nats.
    """
    state: list[_Look] = []

    def see(at: Arr) -> Look:
        state[:] = [_look(problem, at[0], shared, boards, g, outlier_share, outlier_sd)]
        now = state[0]
        return Look(np.array([now.value]), now.step[None], np.array([now.promise]))

    def value_at(at: Arr) -> Arr:
        return np.array([_value(problem, at[0], state[0].sd, outlier_share, outlier_sd)])

    z = climb(start[None], see, value_at, steps=steps, tolerance=tolerance)[0]
    end = _look(problem, z, shared, boards, g, outlier_share, outlier_sd)
    evidence = end.value - 0.5 * end.log_det
    return Arrow(z, end.schur, end.gradient, end.own, end.fill, evidence, end.wide)


def without(mode: Arrow, shared: int, board: int | None) -> tuple[Vec, Arr]:
    """Mean and covariance of the shared parameters given all runs but one board's: one Newton step from the
    joint mode with its gradient and curvature taken out. ``None`` takes nothing out."""
    z = mode.z[:shared]
    if board is None:
        return z, np.linalg.inv(mode.schur).astype(np.float64)
    rest = mode.schur + mode.fill[board] - mode.own[board]
    cov: Arr = np.linalg.inv(rest).astype(np.float64)
    return z - cov @ mode.gradient[board], cov


class _Look(NamedTuple):
    value: float
    promise: float
    step: Vec
    sd: Vec
    schur: Arr
    gradient: Arr
    own: Arr
    fill: Arr
    log_det: float
    wide: Vec


def _value(problem: Problem, z: Vec, sd: Vec, share: float, extra: float) -> float:
    mu = evaluate(problem, z[None])[0][0]
    ll = with_outliers(mu, problem.lo, problem.hi, sd, share, extra)[0]
    return float(ll.sum() - 0.5 * z @ z)


def _look(
    problem: Problem, z: Vec, shared: int, boards: Index, g: float, share: float, extra: float
) -> _Look:
    mu, columns, misfit = evaluate(problem, z[None])
    sd = np.sqrt(problem.noise_var + g * g * misfit[0])
    ll, d1, curve, wide = with_outliers(mu[0], problem.lo, problem.hi, sd, share, extra)
    n, k = len(ll), len(_OWN)
    count = int(boards.max(initial=-1)) + 1
    own_cols = columns[0][:, _OWN]
    at = np.delete(problem.at, _OWN, axis=1)
    rest = np.delete(columns[0], _OWN, axis=1)
    wide_jac = np.zeros((n, shared + 1))
    rows = np.arange(n)
    for c in range(at.shape[1]):
        place = np.where((at[:, c] < 0) | (at[:, c] >= shared), shared, at[:, c])
        wide_jac[rows, place] += rest[:, c]
    js = wide_jac[:, :shared]
    zs, zb = z[:shared], z[shared:].reshape(count, k)
    eye = np.eye(k)
    own = np.empty((count, shared, shared))
    gradient = np.empty((count, shared))
    cross = np.empty((count, shared, k))
    inner = np.empty((count, k, k))
    gb = np.empty((count, k))
    for b in range(count):
        mine = boards == b
        j, o, c = js[mine], own_cols[mine], curve[mine]
        weighted = c[:, None] * j
        own[b] = j.T @ weighted
        cross[b] = weighted.T @ o
        inner[b] = eye + o.T @ (c[:, None] * o)
        gradient[b] = j.T @ d1[mine]
        gb[b] = o.T @ d1[mine] - zb[b]
    solved = np.linalg.solve(inner, np.swapaxes(cross, 1, 2))
    fill = cross @ solved
    schur = np.eye(shared) + own.sum(axis=0) - fill.sum(axis=0)
    gs = gradient.sum(axis=0) - zs
    gb_solved = np.linalg.solve(inner, gb[:, :, None])[:, :, 0]
    xs = np.linalg.solve(schur, gs - np.einsum("bsk,bk->s", cross, gb_solved))
    xb = gb_solved - np.einsum("bks,s->bk", solved, xs)
    log_det = float(np.linalg.slogdet(schur)[1] + np.linalg.slogdet(inner)[1].sum())
    return _Look(
        float(ll.sum() - 0.5 * z @ z),
        float(gs @ xs + (gb * xb).sum()),
        np.concatenate([xs, xb.ravel()]),
        sd,
        schur,
        gradient,
        own,
        fill,
        log_det,
        wide,
    )
