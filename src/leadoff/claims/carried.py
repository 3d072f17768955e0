"""How a score is carried from one rig to another: as a share of the time, as a time, or between the two.

A display card costs time, a driver a share of it, and nobody says which: the effect is additive in a power of the
time (G. E. P. Box and D. R. Cox, J. R. Stat. Soc. B 26, 1964: 0 is the logarithm, a share; 1 the time itself), and
both the power and what is left from state to state are mixed over by what the bridges say. A single bridge leaves the
prior.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.claims.rows import limit
from leadoff.forecast.normal import Vec

POWERS: Vec = np.array([0.0, 0.5, 1.0])
SHARES: Vec = np.geomspace(0.01, 1.0, 25)
_LEAST = 0.1
"""What a carried time keeps of its power at least: more than all of a time cannot be taken away."""


class Carry(NamedTuple):
    """The mixture of one group. ``levels`` (components, rigs) in the transformed time over ``scale``, ``cov`` theirs,
    ``weight``, ``power`` and ``share`` by component."""

    rigs: tuple[str, ...]
    scale: float
    weight: Vec
    power: Vec
    share: Vec
    levels: Vec
    cov: Vec

    def one(self, a: str, b: str, log_time: float) -> tuple[float, float, float]:
        """Log time under ``b`` less ``log_time`` under ``a``: mean, its error, and the spread from state to state."""
        i, j = self.rigs.index(a), self.rigs.index(b)
        at = np.full(len(self.weight), log_time - self.scale)
        shift = self.levels[:, j] - self.levels[:, i]
        moved = _moved(at, shift, self.power)
        slope = np.exp(-self.power * (at + moved))
        var = slope**2 * (self.cov[:, i, i] + self.cov[:, j, j] - 2.0 * self.cov[:, i, j])
        return self._mixed(moved, var, moved)

    def at_large(self, a: str, b: str, times: Mapping[str, Vec]) -> tuple[float, float, float]:
        """The same on the mean of states whose log times are known, each under its own rig."""
        i, j = self.rigs.index(a), self.rigs.index(b)
        here = np.concatenate([np.full(len(times[r]), self.rigs.index(r)) for r in self.rigs])
        at = np.concatenate([times[r] for r in self.rigs])[None, :] - self.scale
        power = self.power[:, None]
        ends = [_moved(at, self.levels[:, [k]] - self.levels[:, here], power) for k in (i, j)]
        moved = (ends[1] - ends[0]).mean(axis=1)
        # Slopes of the mean by each level: of both rigs, and of the rig a state was run under.
        by = np.zeros(self.levels.shape)
        slopes = [np.exp(-power * (at + e)) for e in ends]
        by[:, j] += slopes[1].mean(axis=1)
        by[:, i] -= slopes[0].mean(axis=1)
        for r in range(len(self.rigs)):
            by[:, r] -= np.where(here == r, slopes[1] - slopes[0], 0.0).mean(axis=1)
        var = np.einsum("kr,krs,ks->k", by, self.cov, by)
        return self._mixed(moved, var, moved)

    def drawn(self, to: str, draws: int, rng: np.random.Generator) -> Drawn:
        """Draws of the levels, to carry many states to one rig under one common error."""
        pick = rng.choice(len(self.weight), size=draws, p=self.weight)
        values, vectors = np.linalg.eigh(self.cov)
        root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
        normal = rng.standard_normal((draws, len(self.rigs)))
        levels = self.levels[pick] + np.einsum("drs,ds->dr", root[pick], normal)
        return Drawn(self, self.rigs.index(to), self.power[pick], self.share[pick], levels)

    def _mixed(self, mean: Vec, var: Vec, size: Vec) -> tuple[float, float, float]:
        middle = float(self.weight @ mean)
        sd = math.sqrt(max(0.0, float(self.weight @ (var + (mean - middle) ** 2))))
        return middle, sd, math.sqrt(float(self.weight @ (self.share * size) ** 2))


class Drawn(NamedTuple):
    """Levels of every rig by draw; see ``Carry.drawn``."""

    carry: Carry
    to: int
    power: Vec
    share: Vec
    levels: Vec

    def log_time(self, rig: str, log_time: Vec, rng: np.random.Generator) -> Vec:
        """Log times of one state under the common rig, one for each draw of its log time under its own."""
        r = self.carry.rigs.index(rig)
        shift = self.levels[:, self.to] - self.levels[:, r]
        moved = _moved(log_time - self.carry.scale, shift, self.power)
        return np.asarray(log_time + moved * (1.0 + self.share * rng.standard_normal(len(moved))))


def log_times(scores: Sequence[float], sign: float) -> Vec:
    """Log times of scores: a score where higher is better is one over a time."""
    return np.asarray(-sign * np.log(np.array(scores, dtype=np.float64)))


def carry(rigs: Sequence[str], ends: Sequence[tuple[str, str]], times: Vec, noise: Vec) -> Carry:
    """Fit one group. ``ends``: the two rigs of each bridge, ``times`` (bridges, 2) its log times under them,
    ``noise`` the variance of their difference."""
    n = len(rigs)
    if not len(ends):
        one = np.ones(1)
        return Carry(tuple(rigs), 0.0, one, 0.0 * one, 0.0 * one, np.zeros((1, n)), np.zeros((1, n, n)))
    at = {r: i for i, r in enumerate(rigs)}
    design = np.zeros((len(ends), n))
    for k, (a, b) in enumerate(ends):
        design[k, at[b]], design[k, at[a]] = 1.0, -1.0
    design = design[:, 1:]
    scale = float(times.mean())
    found: list[tuple[float, float, float, Vec, Vec]] = []
    for power in POWERS:
        # In log ratios again: each bridge divided by the slope of the power at its time.
        x = design * np.exp(-power * (times.mean(axis=1) - scale))[:, None]
        y = _log_ratio(times - scale, float(power))
        size = np.maximum(np.abs(x @ _solve(x, y, noise + 1e-4)[0]), limit("rig_effect_log"))
        for share in SHARES:
            var = noise + (share * size) ** 2
            level, cov = _solve(x, y, var)
            found.append((_log_weight(x, y, var, level, share), float(power), float(share), level, cov))
    logs = np.array([f[0] for f in found])
    weight = np.exp(logs - logs.max())
    levels = np.zeros((len(found), n))
    levels[:, 1:] = [f[3] for f in found]
    covs = np.zeros((len(found), n, n))
    covs[:, 1:, 1:] = [f[4] for f in found]
    power, share = (np.array([f[k] for f in found]) for k in (1, 2))
    return Carry(tuple(rigs), scale, weight / weight.sum(), power, share, levels, covs)


def _log_ratio(times: Vec, power: float) -> Vec:
    """Difference of the transformed ends of each bridge over the slope at its middle: the log ratio, nearly."""
    if power == 0.0:
        return np.asarray(times[:, 1] - times[:, 0])
    ends = np.exp(power * times) / power
    return np.asarray((ends[:, 1] - ends[:, 0]) * np.exp(-power * times.mean(axis=1)))


def _moved(at: Vec, shift: Vec, power: Vec) -> Vec:
    """What a step of the transformed time adds to a log time."""
    safe = np.where(power > 0.0, power, 1.0)
    grown = np.maximum(1.0 + safe * shift * np.exp(-safe * at), _LEAST)
    return np.asarray(np.where(power > 0.0, np.log(grown) / safe, shift))


def _log_weight(x: Vec, y: Vec, var: Vec, level: Vec, share: float) -> float:
    """Log likelihood of a component, levels integrated out, times its prior on a grid even in the share's log."""
    left = y - x @ level
    _, det = np.linalg.slogdet(x.T @ (x / var[:, None]))
    fit = -0.5 * (np.log(var).sum() + det + (left**2 / var).sum())
    return float(fit - 0.5 * (share / limit("transfer_share")) ** 2 + math.log(share))


def _solve(x: Vec, y: Vec, var: Vec) -> tuple[Vec, NDArray[np.float64]]:
    cov: Vec = np.linalg.pinv(x.T @ (x / var[:, None])).astype(np.float64)
    return cov @ (x.T @ (y / var)), cov
