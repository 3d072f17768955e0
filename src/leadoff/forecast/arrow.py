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


class Part(NamedTuple):
    """What one board's runs put on the shared parameters that they touch (``at``): gradient, curvature, and what the
    elimination of the board's own parameters took from it (``pull`` from the gradient, nothing at an exact mode)."""

    at: Index
    gradient: Vec
    own: Arr
    fill: Arr
    pull: Vec


class Arrow(NamedTuple):
    """A joint mode. ``z``: shared parameters first, then each board's in blocks. ``schur``: precision of the
    shared ones with all boards in; ``parts``: by board; ``left``: gradient by the shared ones at the end."""

    z: Vec
    schur: Arr
    parts: tuple[Part, ...]
    log_evidence: float
    wide: Vec
    left: Vec


class _Touches(NamedTuple):
    """Place of each column among the shared parameters (their count where it is none), and for each board its rows
    and the shared parameters that they touch."""

    places: Index
    boards: tuple[tuple[Index, Index], ...]


def _touches(problem: Problem, shared: int, boards: Index) -> _Touches:
    at = np.delete(problem.at, _OWN, axis=1)
    at = np.where((at < 0) | (at >= shared), shared, at)
    out = []
    for b in range(int(boards.max(initial=-1)) + 1):
        rows = np.flatnonzero(boards == b)
        used = np.unique(at[rows])
        out.append((rows, used[used < shared]))
    return _Touches(at, tuple(out))


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
    seen_from: list[Vec] = []
    touches = _touches(problem, shared, boards)

    def see(at: Arr) -> Look:
        state[:] = [_look(problem, at[0], shared, touches, g, outlier_share, outlier_sd)]
        seen_from[:] = [at[0]]
        now = state[0]
        return Look(np.array([now.value]), now.step[None], np.array([now.promise]))

    def value_at(at: Arr) -> Arr:
        return np.array([_value(problem, at[0], state[0].sd, outlier_share, outlier_sd)])

    z = climb(start[None], see, value_at, steps=steps, tolerance=tolerance)[0]
    if not seen_from or not np.array_equal(seen_from[0], z):
        see(z[None])
    end = state[0]
    evidence = end.value - 0.5 * end.log_det
    return Arrow(z, end.schur, end.parts, evidence, end.wide, end.left)


def without(mode: Arrow, shared: int, board: int | None) -> tuple[Vec, Arr]:
    """Mean and covariance of the shared parameters given all runs but one board's: one Newton step from the
    joint mode with its gradient and curvature taken out. ``None`` takes nothing out. A search that ended a little
    beside the mode left a gradient there, which weighs more the less the other boards say."""
    z = mode.z[:shared]
    if board is None:
        return z, np.linalg.inv(mode.schur).astype(np.float64)
    part = mode.parts[board]
    rest = mode.schur.copy()
    rest[np.ix_(part.at, part.at)] += part.fill - part.own
    cov: Arr = np.linalg.inv(rest).astype(np.float64)
    return z + cov @ mode.left - cov[:, part.at] @ (part.gradient - part.pull), cov


class _Look(NamedTuple):
    value: float
    promise: float
    step: Vec
    sd: Vec
    schur: Arr
    parts: tuple[Part, ...]
    log_det: float
    wide: Vec
    left: Vec


def _value(problem: Problem, z: Vec, sd: Vec, share: float, extra: float) -> float:
    mu = evaluate(problem, z[None])[0][0]
    ll = with_outliers(mu, problem.lo, problem.hi, sd, share, extra)[0]
    return float(ll.sum() - 0.5 * z @ z)


def _look(
    problem: Problem,
    z: Vec,
    shared: int,
    touches: _Touches,
    g: float,
    share: float,
    extra: float,
) -> _Look:
    mu, columns, misfit = evaluate(problem, z[None])
    sd = np.sqrt(problem.noise_var + g * g * misfit[0])
    ll, d1, curve, wide = with_outliers(mu[0], problem.lo, problem.hi, sd, share, extra)
    own_cols = columns[0][:, _OWN]
    rest = np.delete(columns[0], _OWN, axis=1)
    wide_jac = np.zeros((len(ll), shared + 1))
    rows = np.arange(len(ll))
    for c in range(rest.shape[1]):
        wide_jac[rows, touches.places[:, c]] += rest[:, c]
    zs, zb = z[:shared], z[shared:].reshape(len(touches.boards), len(_OWN))
    eye = np.eye(len(_OWN))
    schur, gs = np.eye(shared), -zs
    pull = np.zeros(shared)
    parts, solved, gb_solved, gb, inners = [], [], [], [], []
    for b, (mine, at) in enumerate(touches.boards):
        j = wide_jac[np.ix_(mine, at)]
        o, c_ = own_cols[mine], curve[mine][:, None]
        weighted = c_ * j
        cross = weighted.T @ o
        inner = eye + o.T @ (c_ * o)
        grad_b = o.T @ d1[mine] - zb[b]
        told = np.linalg.solve(inner, np.concatenate([cross.T, grad_b[:, None]], axis=1))
        part = Part(at, j.T @ d1[mine], j.T @ weighted, cross @ told[:, :-1], cross @ told[:, -1])
        schur[np.ix_(at, at)] += part.own - part.fill
        gs[at] += part.gradient
        pull[at] += part.pull
        inners.append(inner)
        parts.append(part)
        solved.append(told[:, :-1])
        gb_solved.append(told[:, -1])
        gb.append(grad_b)
    xs = np.linalg.solve(schur, gs - pull)
    xb = [g_ - s @ xs[p.at] for g_, s, p in zip(gb_solved, solved, parts, strict=True)]
    # All boards' determinants at once: one by one they cost a tenth of a fit.
    log_det = float(np.linalg.slogdet(np.stack(inners))[1].sum() + np.linalg.slogdet(schur)[1])
    return _Look(
        float(ll.sum() - 0.5 * z @ z),
        float(gs @ xs + sum(float(a @ x) for a, x in zip(gb, xb, strict=True))),
        np.concatenate([xs, *xb]),
        sd,
        schur,
        tuple(parts),
        log_det,
        wide,
        gs - pull,
    )
