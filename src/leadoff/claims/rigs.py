"""Rigs and their bridges: what may be compared is decided by connectedness, never by an assumed effect."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import msgspec
import numpy as np

from leadoff.claims.carried import Carry, carry, log_times
from leadoff.claims.pairs import mean_of
from leadoff.claims.values import StateKey, Trial
from leadoff.forecast.repeat import Repeatability
from leadoff.record.runs import Direction, Workload


class Bridge(msgspec.Struct, frozen=True, kw_only=True):
    """One state of one board under two rigs: its mean score under each and the error of their log ratio."""

    a: str
    b: str
    board: str
    scores: tuple[float, float]
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
    """The rigs of one workload: groups that bridges connect, and how a score is carried over inside each."""

    groups: tuple[tuple[str, ...], ...]
    bridges: tuple[Bridge, ...]
    carries: Mapping[str, Carry]
    scores: Mapping[str, tuple[float, ...]]
    sign: float
    """+1 where a higher score is the better one, so that it is one over a time."""

    def effect(self, a: str, b: str, score: float | None = None) -> Effect | None:
        """Effect of rig ``b`` over ``a`` on a state that scores ``score`` under ``a``; without one, on the states of
        the book at large. ``None`` when no bridge leads there: unknown, never zero."""
        if a == b:
            return Effect(log=0.0, sd=0.0, runs=())
        inside = next((g for g in self.groups if a in g and b in g), None)
        if inside is None:
            return None
        by = self.carries[a]
        if score is None:
            log, sd, transfer = by.at_large(a, b, {r: log_times(self.scores[r], self.sign) for r in inside})
        else:
            log, sd, transfer = by.one(a, b, float(log_times((score,), self.sign)[0]))
        runs = tuple(r for x in self.bridges if x.a in inside for r in x.runs)
        return Effect(log=-self.sign * log, sd=sd, runs=runs, transfer_sd=transfer)


def rigs_of(trials: Sequence[Trial], house: Repeatability, workload: Workload) -> Rigs:
    """Rigs, bridges and effects among the runs of one workload, all with a score."""
    names = sorted({t.rig for t in trials})
    bridges = _bridges(trials, house)
    groups = _groups(names, bridges)
    sign = 1.0 if workload.direction is Direction.HIGHER else -1.0
    carries: dict[str, Carry] = {}
    for g in groups:
        found = [b for b in bridges if b.a in g]
        ends = np.array([log_times(b.scores, sign) for b in found]).reshape(-1, 2)
        made = carry(g, [(b.a, b.b) for b in found], ends, np.array([b.noise_var for b in found]))
        carries.update(dict.fromkeys(g, made))
    scores = {r: tuple(mean_of([t], house).value for t in trials if t.rig == r) for r in names}
    return Rigs(groups=groups, bridges=bridges, carries=carries, scores=scores, sign=sign)


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
                    scores=(one.value, two.value),
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
