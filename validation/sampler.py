"""A general sampler on the same posterior as the forecast of a one-board book: the judge of the bands.

Hamiltonian Monte Carlo with the Laplace curvature as its metric, many chains side by side, the misfit scale
drawn from its grid by Gibbs steps. Nothing is approximated but the force (the misfit's own gradient is left
out), which the acceptance step corrects.

    python validation/sampler.py [BOOKS]     prints how far the forecasts' medians and limits lie from the sampler's
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from books import book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray

from leadoff.forecast import noise
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.joint import Ask, Told, mixture, tell
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.normal import ndtr
from leadoff.forecast.solve import Problem, evaluate, spread
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]


@dataclass(frozen=True)
class Sample:
    """Draws (chains x steps, parameters), their misfit scales, acceptance, and effective size of the means."""

    z: Arr
    g: Arr
    accepted: float
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

    def density(self, u: Arr, g: Arr) -> tuple[Arr, Arr]:
        z = self.scaled(u, g)
        mu, columns, misfit = evaluate(self.problem, z)
        sd = np.sqrt(self.problem.noise_var + (g * g)[:, None] * misfit)
        ll, d1, _, _ = with_outliers(
            mu, self.problem.lo, self.problem.hi, sd, self.row["share"], self.row["sd"]
        )
        jac = spread(self.problem, columns, z.shape[1])
        force = np.einsum("bnd,bn->bd", jac, d1)
        force[:, self.kept :] *= g[:, None]
        return ll.sum(axis=1) - 0.5 * (u * u).sum(axis=1), force - u


def sample(told: Told, *, chains: int = 64, steps: int = 300, warm: int = 100, seed: int = 1) -> Sample:
    """Draw from the posterior behind ``told`` (a book of one board without unknown settings)."""
    rng = np.random.default_rng(seed)
    target = Target(told, chains)
    scales, log_prior = noise.grid()
    weights = told.board.weights
    pick = rng.choice(len(weights), size=chains, p=weights / weights.sum())
    g = told.board.g[pick]
    middle = int(np.argmax(weights))
    cov = np.linalg.inv(told.hessian[middle])
    shape = np.ones(cov.shape[0])
    shape[target.kept :] = 1.0 / told.board.g[middle]
    cov = cov * np.outer(shape, shape)
    half = np.linalg.cholesky(cov)
    u = told.board.mode.z[np.flatnonzero(told.board.weights > -1)[pick]].copy()
    u[:, target.kept :] /= g[:, None]
    u += rng.standard_normal(u.shape) @ half.T
    value, force = target.density(u, g)
    step = 0.25
    draws, scales_drawn, hits = [], [], []
    np.seterr(over="ignore", invalid="ignore")  # a proposal may run off; it is then refused
    for n in range(warm + steps):
        p0 = rng.standard_normal(u.shape)
        p, v, f = p0.copy(), u.copy(), force
        count = int(rng.integers(6, 13))
        for _ in range(count):
            p = p + 0.5 * step * (f @ half)
            v = v + step * (p @ half.T)
            new, f = target.density(v, g)
            p = p + 0.5 * step * (f @ half)
        gain = new - value + 0.5 * ((p0 * p0).sum(axis=1) - (p * p).sum(axis=1))
        yes = np.log(rng.random(chains)) < np.where(np.isfinite(gain), gain, -np.inf)
        u, value, force = (
            np.where(yes[:, None], v, u),
            np.where(yes, new, value),
            np.where(yes[:, None], f, force),
        )
        if n < warm:
            step = min(step * 1.1, 0.6) if yes.mean() > 0.85 else 0.9 * step
        # Misfit scale given everything else, exactly: u is what is kept, the recurring misfits scale along.
        logs = np.stack([target.density(u, np.full(chains, s))[0] for s in scales]) + log_prior[:, None]
        cum = np.cumsum(np.exp(logs - logs.max(axis=0)), axis=0)
        g = scales[(cum < rng.random(chains) * cum[-1]).sum(axis=0)]
        value, force = target.density(u, g)
        if n >= warm:
            draws.append(target.scaled(u, g))
            scales_drawn.append(g)
            hits.append(float(yes.mean()))
    z = np.stack(draws)
    return Sample(
        z.reshape(-1, z.shape[2]),
        np.concatenate(scales_drawn),
        float(np.mean(hits)),
        _effective(z @ told.jac[middle].T),
    )


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
    seed: int, board_class: str, runs: int = 8, *, steps: int = 300, chains: int = 64
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
            f"{CLASSES[n % len(CLASSES)]:8s} accepted {drawn_.accepted:.2f} effective {drawn_.effective:.0f} "
            f"centre {[round(d.centre, 2) for d in found]} limits {[round(d.limit, 2) for d in found]}"
        )
    c, li = np.array([d.centre for d in every]), np.array([d.limit for d in every])
    print(
        f"centre: median {np.median(c):.3f} 90th {np.quantile(c, 0.9):.3f}; "
        f"limits: median {np.median(li):.3f} 90th {np.quantile(li, 0.9):.3f}"
    )
