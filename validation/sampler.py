"""A general sampler on the same posterior as the forecast of a one-board book: the judge of the bands.

Independent draws by importance. A draw perturbs what the prior and the printed scores say and solves for the
parameters that answer it (randomise, then optimise: Bardsley, Solonen, Haario and Laine 2014), so that proposals
follow the curved ridge which few runs leave; only as many unknowns as runs are solved for, the rest of the space is
drawn as it is. Each draw has its misfit scale and its set of wrongly declared runs, and is weighted by the exact
posterior over the exact density of the proposal, so neither the fit's mode nor its curvature is in the answer: bad
ones only cost draws. The weights' effective size and the Pareto shape of their tail (Vehtari and others 2015: below
.7 is good) say whether it worked.

    python validation/sampler.py [BOOKS]     prints how far the forecasts' medians and limits lie from the sampler's
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from books import book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray

from leadoff.forecast import noise
from leadoff.forecast.families import PARAMETERS, families
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.joint import Ask, Told, mixture, tell
from leadoff.forecast.kinds import kind_of
from leadoff.forecast.layout import Index
from leadoff.forecast.likelihood import LEAST_WIDTH, with_outliers
from leadoff.forecast.normal import log_interval, ndtr
from leadoff.forecast.solve import Problem, evaluate, spread
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Sample:
    """Draws (draws, parameters) with their misfit scales and weights (sum 1). ``k_hat``: Pareto shape of the weights'
    tail; ``unsolved``: share of draws whose equations were not solved, which the answer does not contain."""

    z: Arr
    g: Arr
    weights: Arr
    k_hat: float
    unsolved: float

    @property
    def effective(self) -> float:
        return float(1.0 / (self.weights**2).sum())


class Target:
    """One board's posterior in standard units; recurring misfits are scaled by g. The workload's rates (``places``)
    have the profile families' mixture as their prior."""

    def __init__(self, told: Told, places: Sequence[int], kind: str) -> None:
        self.places = list(places)
        known = families(kind)
        self.centres, self.inside = known.shift, known.inside
        self.log_start = np.log(known.start)
        self.kept = len(told.board.keep)
        self.size = told.hessian.shape[1]
        base = told.board.problem
        self.problem = base._replace(features={n: v[:1] for n, v in base.features.items()})
        self.hi = np.maximum(base.hi, base.lo + LEAST_WIDTH)
        row = noise.outlier()
        self.share, self.extra = row["share"], row["sd"]

    @property
    def runs(self) -> int:
        return len(self.problem.lo)

    def scaled(self, u: Arr, g: Arr) -> Arr:
        z = u.copy()
        z[:, self.kept :] *= g[:, None]
        return z

    def look(self, u: Arr, g: Arr) -> tuple[Arr, Arr, Arr]:
        """Log times of the runs, their slopes by ``u``, and their deviation if rightly declared."""
        some = {n: np.repeat(v, len(u), axis=0) for n, v in self.problem.features.items()}
        mu, columns, misfit = evaluate(self.problem._replace(features=some), self.scaled(u, g))
        slopes = spread(self.problem, columns, self.size)
        slopes[:, :, self.kept :] *= g[:, None, None]
        return mu, slopes, np.sqrt(self.problem.noise_var + (g * g)[:, None] * misfit)

    def log_density(self, u: Arr, mu: Arr, sd: Arr, wrong: Flags) -> Arr:
        """Log density of points with their wrongly declared runs, up to one constant for all."""
        sd = np.sqrt(sd**2 + np.where(wrong, self.extra**2, 0.0))
        told = log_interval((self.problem.lo - mu) / sd, (self.hi - mu) / sd)
        label = np.where(wrong, np.log(self.share), np.log1p(-self.share))
        return np.asarray((told + label).sum(axis=1) - 0.5 * (u * u).sum(axis=1) + self.exchanged(u))

    def log_mixed(self, u: Arr, g: Arr) -> Arr:
        """The same with the wrongly declared runs summed out: what a sampler of real numbers alone needs."""
        mu, _, sd = self.look(u, g)
        each = [
            log_interval((self.problem.lo - mu) / s, (self.hi - mu) / s) + np.log(share)
            for s, share in ((sd, 1.0 - self.share), (np.sqrt(sd**2 + self.extra**2), self.share))
        ]
        return np.asarray(np.logaddexp(*each).sum(axis=1) - 0.5 * (u * u).sum(axis=1) + self.exchanged(u))

    def exchanged(self, u: Arr) -> Arr:
        """Log of the families' prior over the standard normal on the workload's rates."""
        x = u[:, self.places]
        off = x[:, None, :] - self.centres
        each = self.log_start - 0.5 * (off**2 / self.inside + np.log(self.inside)).sum(axis=2)
        return np.asarray(np.logaddexp.reduce(each, axis=1) + 0.5 * (x * x).sum(axis=1))


class Strata(NamedTuple):
    """Kinds of draws, by misfit scale ``g`` and wrong runs: spread of the runs, and at the mode of prior and runs the
    singular vectors and values of their slopes (over that spread) and the mode along these vectors."""

    g: Arr
    sd: Arr
    left: Arr
    values: Arr
    right: Arr
    mode: Arr


def _strata(target: Target, start: Arr, g: Arr, wrong: Flags) -> Strata:
    """Gauss-Newton from ``start``: only where the proposals are aimed hangs on it."""
    base = target.problem
    middle = 0.5 * (base.lo + base.hi)
    u = start
    sd = np.ones((len(g), target.runs))
    for n in range(12):
        mu, slopes, now = target.look(u, g)
        if n == 0:
            sd = np.sqrt(now**2 + np.where(wrong, target.extra**2, 0.0) + (base.hi - base.lo) ** 2 / 12.0)
        over = slopes / sd[:, :, None]
        aim = np.einsum("bnd,bd->bn", over, u) - (mu - middle) / sd
        inner = np.eye(target.runs) + over @ np.swapaxes(over, 1, 2)
        step = np.einsum("bnd,bn->bd", over, np.linalg.solve(inner, aim[:, :, None])[:, :, 0]) - u
        most = np.abs(step).max(axis=1)
        u = u + step * np.minimum(1.0, 1.0 / np.maximum(most, 1e-9))[:, None]
        if most.max() < 1e-4:
            break
    over = target.look(u, g)[1] / sd[:, :, None]
    left, values, right = np.linalg.svd(over, full_matrices=False)
    return Strata(g, sd, left, values, right, np.einsum("bnd,bd->bn", right, u))


def _solve(target: Target, kinds: Strata, of: Index, noise_: Arr) -> tuple[Arr, Arr, Arr, Arr]:
    """Points whose projected equations equal the drawn ``noise_``; log determinant of the map (minus infinity where
    it was not solved), log times and deviations there. Damped Newton steps in as many unknowns as there are runs."""
    base = target.problem
    middle = 0.5 * (base.lo + base.hi)
    right, size, sd = kinds.right[of], kinds.values[of], kinds.sd[of]
    scale = np.sqrt(1.0 + size**2)
    seen = np.einsum("bnd,bd->bn", right, noise_)
    rest = noise_ - np.einsum("bnd,bn->bd", right, seen)
    v = kinds.mode[of] + seen / scale
    count, n = seen.shape
    det, mus, sds = np.full(count, -np.inf), np.zeros((count, n)), np.ones((count, n))
    off, back, step, length = np.full(count, np.inf), v.copy(), np.zeros_like(v), np.ones(count)
    open_ = np.arange(count)
    for _ in range(80):
        u = rest[open_] + np.einsum("bnd,bn->bd", right[open_], v[open_])
        mu, slopes, now = target.look(u, kinds.g[of[open_]])
        left = kinds.left[of[open_]]
        by = size[open_][:, :, None] * np.einsum("bmn,bm->bn", left, (mu - middle) / sd[open_])[:, :, None]
        miss = (v[open_] + by[:, :, 0]) / scale[open_] - seen[open_]
        far = np.nan_to_num(np.sqrt((miss**2).sum(axis=1)), nan=np.inf)
        turn = np.swapaxes(left, 1, 2) @ (slopes / sd[open_][:, :, None]) @ np.swapaxes(right[open_], 1, 2)
        turn = (np.eye(n) + size[open_][:, :, None] * turn) / scale[open_][:, :, None]
        nearer = far <= off[open_]
        done = nearer & (far < 1e-6)
        i = open_[done]
        det[i], mus[i], sds[i] = np.linalg.slogdet(turn[done])[1], mu[done], now[done]
        go = nearer & ~done
        i = open_[go]
        step[i] = -np.linalg.solve(turn[go], miss[go][:, :, None])[:, :, 0]
        back[i], off[i] = v[i], far[go]
        length[i] = np.minimum(1.0, 3.0 / np.maximum(np.abs(step[i]).max(axis=1, initial=0.0), 1e-9))
        length[open_[~nearer]] *= 0.4
        i = open_[~done]
        v[i] = back[i] + length[i][:, None] * step[i]
        open_ = i
        if not len(open_):
            break
    return rest + np.einsum("bnd,bn->bd", right, v), det, mus, sds


class _Aim(NamedTuple):
    """Chances by which draws take a misfit scale, and (scales, runs) take a run for wrongly declared."""

    scales: Arr
    wrong: Arr


PILOT, BATCH = 1_500, 1_500
LEAST_SHARE = 0.02
"""Draws that set the aim and are then thrown away, draws at a time, and the least chance of any choice."""


def sample(
    told: Told,
    places: Sequence[int],
    kind: str,
    *,
    wanted: float = 4_000.0,
    most: int = 60_000,
    seed: int = 1,
) -> Sample:
    """Draw from the posterior behind ``told`` (a book of one board without unknown settings) until ``wanted``
    effective draws are there, or ``most`` draws. ``places``: of the workload's rates among the parameters."""
    rng = np.random.default_rng(seed)
    target = Target(told, places, kind)
    scales, _ = noise.grid()
    starts = _starts(told, target, scales)
    mu, _, sd = target.look(starts, scales)
    wide = with_outliers(mu, target.problem.lo, target.problem.hi, sd, target.share, target.extra)[3]
    near = np.array([int(np.argmin(np.abs(scales - g))) for g in told.board.g])
    weights: Arr = np.bincount(near, weights=told.board.weights, minlength=len(scales)).astype(np.float64)
    aim = _Aim(_held(weights), np.clip(wide, 2 * LEAST_SHARE, 1.0 - 2 * LEAST_SHARE))
    z, at, wrong, logs = _batch(target, aim, starts, PILOT, rng)
    w = np.exp(logs - logs.max())
    by_scale = np.stack([w * (at == k) for k in range(len(scales))])
    told_wrong = (by_scale @ wrong + 20.0 * np.average(wrong, axis=0, weights=w) * w.mean()) / (
        by_scale.sum(axis=1) + 20.0 * w.mean()
    )[:, None]
    aim = _Aim(_held(by_scale.sum(axis=1)), np.clip(told_wrong, LEAST_SHARE, 1.0 - LEAST_SHARE))
    parts: list[tuple[Arr, Index, Flags, Arr]] = []
    w = np.ones(1)
    while len(parts) * BATCH < most and float(w.sum() ** 2 / (w**2).sum()) < wanted:
        parts.append(_batch(target, aim, starts, BATCH, rng))
        logs = np.concatenate([p[3] for p in parts])
        w = np.exp(logs - logs.max())
    z, at = np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])
    g = scales[at]
    return Sample(target.scaled(z, g), g, w / w.sum(), k_hat(w), float(np.mean(np.isneginf(logs))))


def places_of(made: Fit, told: Told, workload: str) -> list[int]:
    """Where the workload's rates stand among the board's parameters."""
    index = {int(i): k for k, i in enumerate(told.board.keep)}
    return [index[made.layout.index["w", n, workload]] for n in PARAMETERS.values()]


def _held(weights: Arr) -> Arr:
    share = weights / weights.sum() + LEAST_SHARE
    return np.asarray(share / share.sum())


def _starts(told: Told, target: Target, scales: Arr) -> Arr:
    """The fit's mode nearest to each scale, in standard units."""
    out = []
    for g in scales:
        c = int(np.argmin(np.abs(told.board.g - g)))
        u = told.z[c, : target.size].copy()
        u[target.kept :] /= told.board.g[c]
        out.append(u)
    return np.stack(out)


def _batch(
    target: Target, aim: _Aim, starts: Arr, count: int, rng: np.random.Generator
) -> tuple[Arr, Index, Flags, Arr]:
    """Draws in standard units, their scale, wrong runs and log weight."""
    scales, log_prior = noise.grid()
    at = rng.choice(len(scales), size=count, p=aim.scales).astype(np.intp)
    chance = aim.wrong[at]
    wrong = rng.random(chance.shape) < chance
    log_aim = np.log(aim.scales[at]) + np.log(np.where(wrong, chance, 1.0 - chance)).sum(axis=1)
    kinds, of = np.unique(np.concatenate([at[:, None], wrong], axis=1), axis=0, return_inverse=True)
    draw = rng.standard_normal((count, target.size))
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):  # far points may run off; unsolved
        strata = _strata(target, starts[kinds[:, 0]], scales[kinds[:, 0]], kinds[:, 1:].astype(bool))
        u, det, mu, sd = _solve(target, strata, of.ravel().astype(np.intp), draw)
        made = log_prior[at] + target.log_density(u, mu, sd, wrong)
    proposed = det - 0.5 * (draw**2).sum(axis=1) + log_aim
    return u, at, wrong, np.where(np.isneginf(det), -np.inf, made - proposed)


def k_hat(weights: Arr) -> float:
    """Shape of the generalised Pareto distribution of the largest weights (Zhang and Stephens 2009; their prior and
    the weak pull towards one half as Vehtari and others have it)."""
    kept = np.sort(weights[weights > 0.0])
    tail = int(min(0.2 * len(kept), 3.0 * np.sqrt(len(kept))))
    x = kept[-tail:] - kept[-tail - 1]
    m = 30 + int(np.sqrt(tail))
    quarter = x[int(tail / 4.0 + 0.5) - 1]
    theta = 1.0 / x[-1] + (1.0 - np.sqrt(m / (np.arange(1, m + 1) - 0.5))) / 3.0 / quarter
    shape = np.log1p(-theta[:, None] * x).mean(axis=1)
    value = tail * (np.log(-theta / shape) - shape - 1.0)
    share = 1.0 / np.exp(value[None, :] - value[:, None]).sum(axis=1)
    best = float((share * theta).sum() / share.sum())
    k = float(np.log1p(-best * x).mean())
    return (tail * k + 10.0 * 0.5) / (tail + 10.0)


def quantiles(told: Told, drawn: Sample, k: int, ps: tuple[float, ...]) -> Arr:
    """Predictive quantiles of ask ``k`` over the draws, each with its own noise, misfit and outlier part."""
    n = len(drawn.z)
    asked: Problem = told.asked._replace(
        features={f: np.repeat(v[:1, [k]], n, axis=0) for f, v in told.asked.features.items()}
    )
    asked = asked._replace(at=told.asked.at[[k]], sds=told.asked.sds[[k]], centres=told.asked.centres[[k]])
    asked = asked._replace(level0=told.asked.level0[[k]])
    size = int(told.asked.at.max(initial=0))
    padded = np.concatenate([drawn.z, np.zeros((n, max(size - drawn.z.shape[1], 0)))], axis=1)
    mu, _, misfit = evaluate(asked, padded)
    row = noise.outlier()
    var = misfit[:, 0] * drawn.g**2 + told.noise_var[k] + told.new_var[0, k]
    means = np.tile(mu[:, 0], 2)
    sds = np.sqrt(np.concatenate([var, var + row["predicted_sd"] ** 2]))
    share = row["predicted_share"]
    w = np.concatenate([(1.0 - share) * drawn.weights, share * drawn.weights])
    lo, hi = np.full(len(ps), means[w > 0.0].min() - 0.2), np.full(len(ps), means[w > 0.0].max() + 0.2)
    for _ in range(30):
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
    seed: int, board_class: str, runs: int = 8, *, wanted: float = 4_000.0
) -> tuple[list[Distance], Sample, int]:
    """Forecasts of one book by both at four untried states, the draws, and how many states had a score."""
    world = World(
        seed, boards=1, runs=runs, classes=(board_class,), workloads=("w4",), unknown=0.0, wrong=0.0
    )
    book = book_of(world)
    made: Fit = fit(collect(book.workloads, book.runs))
    board = world.boards[0].id
    workload = next(w for w in book.workloads if w.name == "w4")
    asks = [Ask(workload, book.setup(board, s)) for s in world.untried(board, 4, changes=(1, 3))]
    told = tell(made, asks, board)
    drawn = sample(told, places_of(made, told, workload.name), kind_of(workload), wanted=wanted, seed=seed)
    out = []
    for k in range(len(asks)):
        mix = mixture(told, k)
        lo, mid, hi = quantiles(told, drawn, k, (0.05, 0.5, 0.95))
        ours = mix.quantiles((0.05, 0.5, 0.95))
        sd = (hi - lo) / 3.29
        out.append(Distance(abs(ours[1] - mid) / sd, max(abs(ours[0] - lo), abs(ours[2] - hi)) / sd))
    return out, drawn, len(made.rows.data)


CLASSES = ("486vlb", "socket7", "386dx", "486pci", "slot1", "socket5", "386sx")

if __name__ == "__main__":
    books = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    every: list[Distance] = []
    for n in range(books):
        begun = time.process_time()
        found, drawn_, states = compare(60_000 + n, CLASSES[n % len(CLASSES)])
        every += found
        print(
            f"{CLASSES[n % len(CLASSES)]:8s} {states} states, {len(drawn_.g)} draws, "
            f"effective {drawn_.effective:.0f}, k-hat {drawn_.k_hat:.2f}, unsolved {drawn_.unsolved:.4f}, "
            f"{time.process_time() - begun:.1f} s; centre {' '.join(f'{d.centre:.2f}' for d in found)} "
            f"limits {' '.join(f'{d.limit:.2f}' for d in found)}"
        )
    c, li = np.array([d.centre for d in every]), np.array([d.limit for d in every])
    print(
        f"centre: median {np.median(c):.3f} 90th {np.quantile(c, 0.9):.3f}; "
        f"limits: median {np.median(li):.3f} 90th {np.quantile(li, 0.9):.3f}"
    )
