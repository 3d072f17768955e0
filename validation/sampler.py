"""A general sampler on the same posterior as the forecast of a one-board book: the judge of the bands.

Elliptical slice sampling (Murray, Adams and MacKay 2010), many chains side by side: a step goes along an ellipse
through the point and a draw from a somewhat widened Laplace normal (of the misfit scale at hand) and takes a point
on it by a slice of what the posterior has over that normal, so it is exact whatever the posterior's shape and never
stands still. The misfit scale is drawn from its grid given all else, exactly. No gradient is used, so nothing of the
fit but its starting point takes part.

    python validation/sampler.py [BOOKS]     prints how far the forecasts' medians and limits lie from the sampler's
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from books import book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray

from leadoff.forecast import noise
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.joint import Ask, Told, mixture, tell
from leadoff.forecast.layout import Index
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.normal import ndtr
from leadoff.forecast.solve import Problem, evaluate, spread
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]


@dataclass(frozen=True)
class Sample:
    """Draws (chains x steps, parameters), their misfit scales, and effective size of the means."""

    z: Arr
    g: Arr
    effective: float


class Target:
    """Log density of one board's posterior in standard units; recurring misfits are scaled by g."""

    def __init__(self, told: Told, chains: int) -> None:
        self.kept = len(told.board.keep)
        base = told.board.problem
        self.problem = base._replace(
            features={n: np.repeat(v[:1], chains, axis=0) for n, v in base.features.items()}
        )
        self.row = noise.outlier()

    def scaled(self, u: Arr, g: Arr) -> Arr:
        z = u.copy()
        z[:, self.kept :] *= g[:, None]
        return z

    def density(self, u: Arr, g: Arr) -> Arr:
        """Log density of each chain's point, up to a constant that does not depend on ``g`` either."""
        z = self.scaled(u, g)
        some = {n: v[: len(u)] for n, v in self.problem.features.items()}
        mu, _, misfit = evaluate(self.problem._replace(features=some), z)
        sd = np.sqrt(self.problem.noise_var + (g * g)[:, None] * misfit)
        ll = with_outliers(mu, self.problem.lo, self.problem.hi, sd, self.row["share"], self.row["sd"])[0]
        out: Arr = ll.sum(axis=1) - 0.5 * (u * u).sum(axis=1)
        return np.asarray(np.where(np.isfinite(out), out, -np.inf))


class _References(NamedTuple):
    """By misfit scale: the mode, a root of the Laplace covariance, its inverse, and the projection on what the runs
    see of the whitened space (the rest moves no score at the mode)."""

    mode: Arr
    half: Arr
    back: Arr
    seen: Arr


def _references(told: Told, kept: int, scales: Arr) -> _References:
    known = told.board
    modes, halves, seen = [], [], []
    for g in scales:
        c = int(np.argmin(np.abs(known.g - g)))
        shape = np.ones(told.hessian.shape[1])
        shape[kept:] = 1.0 / known.g[c]
        cov = np.linalg.inv(told.hessian[c]) * np.outer(shape, shape)
        modes.append(told.z[c, : len(shape)] * shape)
        half = np.linalg.cholesky(cov)
        problem = known.problem._replace(
            features={n: v[c : c + 1] for n, v in known.problem.features.items()}
        )
        jac = spread(problem, evaluate(problem, told.z[c : c + 1, : len(shape)])[1], len(shape))[0] / shape
        _, size, rows = np.linalg.svd(jac @ half, full_matrices=False)
        rows = rows[size > 1e-9 * size.max()]
        seen.append(rows.T @ rows)
        halves.append(half)
    all_halves = np.stack(halves)
    return _References(np.stack(modes), all_halves, np.linalg.inv(all_halves), np.stack(seen))


WIDER = 1.08
"""The normal that ellipses are drawn from, over the Laplace one: tails heavier than a normal's stay reachable."""


def sample(told: Told, *, chains: int = 128, steps: int = 160, warm: int = 30, seed: int = 1) -> Sample:
    """Draw from the posterior behind ``told`` (a book of one board without unknown settings)."""
    rng = np.random.default_rng(seed)
    target = Target(told, chains)
    scales, log_prior = noise.grid()
    ref = _references(told, target.kept, scales)
    near = np.array([int(np.argmin(np.abs(scales - g))) for g in told.board.g])
    weights = np.bincount(near, weights=told.board.weights, minlength=len(scales))
    at = rng.choice(len(scales), size=chains, p=weights / weights.sum())
    dim = ref.mode.shape[1]
    w = rng.standard_normal((chains, dim)) * WIDER
    draws, scales_drawn = [], []

    def point(w: Arr, at: Index) -> Arr:
        return np.asarray(ref.mode[at] + np.einsum("bij,bj->bi", ref.half[at], w))

    def over(w: Arr, at: Index) -> Arr:
        return np.asarray(target.density(point(w, at), scales[at]) + 0.5 * (w * w).sum(axis=1) / WIDER**2)

    with np.errstate(
        over="ignore", invalid="ignore", divide="ignore"
    ):  # far points may run off; they are outside
        value = over(w, at)
        for n in range(warm + steps):
            for seen in (True, False):
                fresh = WIDER * rng.standard_normal(w.shape)
                part = np.einsum("bij,bj->bi", ref.seen[at], fresh)
                now = np.einsum("bij,bj->bi", ref.seen[at], w)
                other, here = (part, now) if seen else (fresh - part, w - now)
                w, value = _slice(w, value, at, here, other, over, rng)
            u = point(w, at)
            logs: Arr = np.stack([target.density(u, np.full(chains, s)) for s in scales])
            total = logs + log_prior[:, None]
            cum = np.cumsum(np.exp(total - total.max(axis=0)), axis=0)
            at = np.minimum((cum < rng.random(chains) * cum[-1]).sum(axis=0), len(scales) - 1)
            w = np.einsum("bij,bj->bi", ref.back[at], u - ref.mode[at])
            value = logs[at, np.arange(chains)] + 0.5 * (w * w).sum(axis=1) / WIDER**2
            if n >= warm:
                draws.append(target.scaled(u, scales[at]))
                scales_drawn.append(scales[at])
    z = np.stack(draws)
    middle = int(np.argmax(told.board.weights))
    return Sample(z.reshape(-1, z.shape[2]), np.concatenate(scales_drawn), _effective(z @ told.jac[middle].T))


def _slice(
    w: Arr,
    value: Arr,
    at: Index,
    here: Arr,
    other: Arr,
    over: Callable[[Arr, Index], Arr],
    rng: np.random.Generator,
) -> tuple[Arr, Arr]:
    """One step of every chain's part ``here`` on its ellipse with ``other``; what is left of ``w`` stays. The bracket
    shrinks towards the point until one is inside."""
    rest = w - here
    floor = value + np.log(rng.random(len(w)))
    angle = 2.0 * np.pi * rng.random(len(w))
    lo, hi = angle - 2.0 * np.pi, angle.copy()
    out, found = w.copy(), value.copy()
    left = np.arange(len(w))
    for _ in range(200):
        c, s = np.cos(angle[left])[:, None], np.sin(angle[left])[:, None]
        tried = rest[left] + here[left] * c + other[left] * s
        seen = over(tried, at[left])
        inside = seen > floor[left]
        out[left[inside]], found[left[inside]] = tried[inside], seen[inside]
        left = left[~inside]
        if not len(left):
            break
        lo[left] = np.where(angle[left] < 0.0, angle[left], lo[left])
        hi[left] = np.where(angle[left] < 0.0, hi[left], angle[left])
        angle[left] = lo[left] + (hi[left] - lo[left]) * rng.random(len(left))
    return out, found


def _effective(series: Arr) -> float:
    """Smallest effective sample size over the asked means, by between-chain variance of chain means."""
    _, chains, _ = series.shape
    within = series.var(axis=0).mean(axis=0)
    of_means = series.mean(axis=0).var(axis=0, ddof=1)
    return float(np.min(chains * within / np.maximum(of_means, 1e-300)))


def quantiles(told: Told, drawn: Sample, k: int, ps: tuple[float, ...]) -> Arr:
    """Predictive quantiles of ask ``k`` over the draws, each with its own noise, misfit and outlier part."""
    n = len(drawn.z)
    asked: Problem = told.asked._replace(
        features={f: np.repeat(v[:1, [k]], n, axis=0) for f, v in told.asked.features.items()}
    )
    asked = asked._replace(at=told.asked.at[[k]], sds=told.asked.sds[[k]], level0=told.asked.level0[[k]])
    size = int(told.asked.at.max(initial=0))
    padded = np.concatenate([drawn.z, np.zeros((n, max(size - drawn.z.shape[1], 0)))], axis=1)
    mu, _, misfit = evaluate(asked, padded)
    row = noise.outlier()
    var = misfit[:, 0] * drawn.g**2 + told.noise_var[k] + told.new_var[0, k]
    means = np.tile(mu[:, 0], 2)
    sds = np.sqrt(np.concatenate([var, var + row["predicted_sd"] ** 2]))
    w = np.repeat([1.0 - row["predicted_share"], row["predicted_share"]], n) / n
    lo, hi = np.full(len(ps), means.min() - 0.2), np.full(len(ps), means.max() + 0.2)
    for _ in range(40):
        mid = 0.5 * (lo + hi)
        below = np.array([float(w @ ndtr((m - means) / sds)) for m in mid]) < np.array(ps)
        lo, hi = np.where(below, mid, lo), np.where(below, hi, mid)
    return np.asarray(0.5 * (lo + hi))


@dataclass(frozen=True)
class Distance:
    """Differences in predictive standard deviations: of the medians, and of the 5 and 95 % limits."""

    centre: float
    limit: float


def compare(
    seed: int, board_class: str, runs: int = 8, *, steps: int = 160, chains: int = 128
) -> tuple[list[Distance], Sample]:
    """Forecasts of one book by both, at states that were run (new to neither side's recurring misfits aside)."""
    world = World(
        seed, boards=1, runs=runs, classes=(board_class,), workloads=("w4",), unknown=0.0, wrong=0.0
    )
    book = book_of(world)
    made: Fit = fit(collect(book.workloads, book.runs))
    board = world.boards[0].id
    workload = next(w for w in book.workloads if w.name == "w4")
    asks = [Ask(workload, book.setup(board, s)) for s in world.untried(board, 4, changes=(1, 3))]
    told = tell(made, asks, board)
    drawn = sample(told, chains=chains, steps=steps, seed=seed)
    out = []
    for k in range(len(asks)):
        mix = mixture(told, k)
        lo, mid, hi = quantiles(told, drawn, k, (0.05, 0.5, 0.95))
        ours = mix.quantiles((0.05, 0.5, 0.95))
        sd = (hi - lo) / 3.29
        out.append(Distance(abs(ours[1] - mid) / sd, max(abs(ours[0] - lo), abs(ours[2] - hi)) / sd))
    return out, drawn


CLASSES = ("486vlb", "socket7", "386dx", "486pci", "slot1", "socket5", "386sx")

if __name__ == "__main__":
    books = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    every: list[Distance] = []
    for n in range(books):
        found, drawn_ = compare(60_000 + n, CLASSES[n % len(CLASSES)])
        every += found
        print(
            f"{CLASSES[n % len(CLASSES)]:8s} effective {drawn_.effective:.0f} "
            f"centre {' '.join(f'{d.centre:.2f}' for d in found)} limits {' '.join(f'{d.limit:.2f}' for d in found)}"
        )
    c, li = np.array([d.centre for d in every]), np.array([d.limit for d in every])
    print(
        f"centre: median {np.median(c):.3f} 90th {np.quantile(c, 0.9):.3f}; "
        f"limits: median {np.median(li):.3f} 90th {np.quantile(li, 0.9):.3f}"
    )
