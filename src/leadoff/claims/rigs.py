"""Rigs and their bridges: what may be compared is decided by connectedness, never by an assumed effect."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import msgspec
import numpy as np

from leadoff.claims.pairs import mean_of
from leadoff.claims.rows import limit
from leadoff.claims.values import StateKey, Trial
from leadoff.forecast.normal import Vec
from leadoff.forecast.repeat import Repeatability


class Bridge(msgspec.Struct, frozen=True, kw_only=True):
    """One state of one board under two rigs: log(score under ``b`` / score under ``a``) with its error."""

    a: str
    b: str
    board: str
    log_ratio: float
    noise_var: float
    runs: tuple[str, ...]


class Effect(msgspec.Struct, frozen=True, kw_only=True):
    """Effect of one rig over another on the log score, and the runs it rests on. ``sd`` is the error of the effect
    on boards at large, ``transfer_sd`` how much it differs from state to state: one adjusted score has both."""

    log: float
    sd: float
    runs: tuple[str, ...]
    transfer_sd: float = 0.0

    @property
    def one_sd(self) -> float:
        """Error of the effect on one score."""
        return math.hypot(self.sd, self.transfer_sd)


class Rigs(msgspec.Struct, frozen=True, kw_only=True):
    """The rigs of one workload: groups that bridges connect, and the effects inside a group."""

    groups: tuple[tuple[str, ...], ...]
    bridges: tuple[Bridge, ...]
    levels: Mapping[str, float]
    cov: Mapping[tuple[str, str], float]
    shares: Mapping[str, float]

    def effect(self, a: str, b: str) -> Effect | None:
        """Effect of rig ``b`` over ``a``; ``None`` when no bridge leads there: unknown, never zero."""
        if a == b:
            return Effect(log=0.0, sd=0.0, runs=())
        inside = next((g for g in self.groups if a in g and b in g), None)
        if inside is None:
            return None
        c = self.cov
        var = max(0.0, c[a, a] + c[b, b] - 2 * c[a, b])
        runs = tuple(r for x in self.bridges if x.a in inside for r in x.runs)
        log = self.levels[b] - self.levels[a]
        return Effect(log=log, sd=math.sqrt(var), runs=runs, transfer_sd=self.shares[a] * abs(log))


def rigs_of(trials: Sequence[Trial], house: Repeatability) -> Rigs:
    """Rigs, bridges and effects among the runs of one workload, all with a score."""
    names = sorted({t.rig for t in trials})
    bridges = _bridges(trials, house)
    groups = _groups(names, bridges)
    levels: dict[str, float] = {}
    cov: dict[tuple[str, str], float] = {}
    shares: dict[str, float] = {}
    for g in groups:
        level, c, share = _fit(g, [b for b in bridges if b.a in g])
        shares.update(dict.fromkeys(g, share))
        levels.update({r: float(level[i]) for i, r in enumerate(g)})
        cov.update({(r, s): float(c[i, j]) for i, r in enumerate(g) for j, s in enumerate(g)})
    return Rigs(groups=groups, bridges=bridges, levels=levels, cov=cov, shares=shares)


def _bridges(trials: Sequence[Trial], house: Repeatability) -> tuple[Bridge, ...]:
    cells: dict[tuple[str, StateKey], dict[str, list[Trial]]] = {}
    for t in trials:
        cells.setdefault((t.board, t.key), {}).setdefault(t.rig, []).append(t)
    out = []
    for (board, _), by_rig in sorted(cells.items()):
        means = {rig: mean_of(ts, house) for rig, ts in by_rig.items()}
        for a, b in pairwise(sorted(means)):
            one, two = means[a], means[b]
            out.append(
                Bridge(
                    a=a,
                    b=b,
                    board=board,
                    log_ratio=math.log(two.value / one.value),
                    noise_var=one.sd_log**2 + two.sd_log**2,
                    runs=(*one.runs, *two.runs),
                )
            )
    return tuple(out)


def _groups(names: Sequence[str], bridges: Sequence[Bridge]) -> tuple[tuple[str, ...], ...]:
    home = {n: n for n in names}
    for b in bridges:
        keep, drop = sorted((home[b.a], home[b.b]))
        home = {n: keep if h == drop else h for n, h in home.items()}
    return tuple(tuple(n for n in names if home[n] == top) for top in sorted(set(home.values())))


def _fit(rigs: Sequence[str], bridges: Sequence[Bridge]) -> tuple[Vec, Vec, float]:
    """Levels over the first rig, their covariance, and the share by which an effect differs from state to state.

    The share is not known: it is mixed over (half-normal prior, one row of ``limits.toml``), so that many bridges
    which agree make it small, and a single one leaves the prior.
    """
    n = len(rigs)
    if not bridges:
        return np.zeros(n), np.zeros((n, n)), 0.0
    at = {r: i for i, r in enumerate(rigs)}
    x = np.zeros((len(bridges), n))
    for k, b in enumerate(bridges):
        x[k, at[b.b]], x[k, at[b.a]] = 1.0, -1.0
    x = x[:, 1:]
    y = np.array([b.log_ratio for b in bridges])
    noise = np.array([b.noise_var for b in bridges])
    size = np.maximum(np.abs(x @ _solve(x, y, noise + 1e-4)[0]), limit("rig_effect_log"))
    found = [(s, *_solve(x, y, noise + (s * size) ** 2)) for s in SHARES]
    logs = np.array([_log_weight(x, y, noise + (s * size) ** 2, level, s) for s, level, _ in found])
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean = sum((w * level for w, (_, level, _) in zip(weight, found, strict=True)), np.zeros(n - 1))
    cov = np.zeros((n - 1, n - 1))
    for w, (_, level, c) in zip(weight, found, strict=True):
        cov += w * (c + np.outer(level - mean, level - mean))
    out = np.zeros((n, n))
    out[1:, 1:] = cov
    return np.concatenate(([0.0], mean)), out, float(math.sqrt(np.sum(weight * SHARES**2)))


SHARES: Vec = np.geomspace(0.01, 1.0, 25)


def _log_weight(x: Vec, y: Vec, var: Vec, level: Vec, share: float) -> float:
    """Log likelihood of a share with the levels integrated out, times its prior, on a grid even in its log."""
    left = y - x @ level
    _, det = np.linalg.slogdet(x.T @ (x / var[:, None]))
    fit = -0.5 * (np.log(var).sum() + det + (left**2 / var).sum())
    return float(fit - 0.5 * (share / limit("transfer_share")) ** 2 + math.log(share))


def _solve(x: Vec, y: Vec, var: Vec) -> tuple[Vec, Vec]:
    cov: Vec = np.linalg.pinv(x.T @ (x / var[:, None])).astype(np.float64)
    return cov @ (x.T @ (y / var)), cov
