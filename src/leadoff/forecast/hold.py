"""The chance that a state starts, boots and holds, from what held and what failed.

Each path of the board has a limit, log-normal before any run (the scatter widened, see the data rows). A run
that held says that every path had room; a failure that at least one had not, never which one. The posterior
is exact: the likelihood of a set of runs is a signed sum of products over the paths, so no path has to be
blamed and no draws are needed. More load on any one path never raises a chance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

import msgspec
import numpy as np

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.normal import Vec, ndtr, quantile
from leadoff.forecast.paths import Load, loads, specimen
from leadoff.forecast.rows import group, values
from leadoff.record.entries import Chance
from leadoff.record.runs import Outcome

_NODES = 61
_REACH = 3.6
_MOST_FAILURES = 6
"""The sum has three terms for each failure; beyond this many, failures under harder loads are implied."""


class PathChance(msgspec.Struct, frozen=True, kw_only=True):
    """One path: its load in percent of what it is made for, and its own chance to hold."""

    path: str
    over_pct: float
    hold: float
    why: str


class Hold(msgspec.Struct, frozen=True, kw_only=True):
    """Chances of one state. ``beyond_ceiling``: paths driven beyond what the record shows they can do."""

    chance: Chance
    paths: tuple[PathChance, ...] = ()
    weakest: str = ""
    beyond_ceiling: tuple[str, ...] = ()


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """What one run says: loads by path, how far it came, successes and failures when it was counted."""

    loads: tuple[Load, ...]
    outcome: Outcome
    held: int = 0
    failed: int = 0
    elsewhere: bool = False


def hold(target: Setup, runs: Iterable[Observed]) -> Hold:
    """Chances of ``target`` from every run of the book that shares a path with it."""
    return belief(target, tuple(runs)).hold(target)


def belief(of: Setup, runs: Sequence[Observed]) -> Belief:
    """What is known of the limits of this board with this processor; good for many targets."""
    trials: list[Trial] = []
    for seen in runs:
        own = seen.setup.board == of.board
        same_part = bool(of.state.value("cpu_specimen")) and specimen(seen.setup) == specimen(of)
        if not own and not same_part:
            continue
        told = tuple(p for p in loads(seen.setup) if own or p.whose != "board")
        trials.append(_trial(seen, told, elsewhere=not own))
    return Belief(tuple(trials))


def _trial(seen: Observed, told: tuple[Load, ...], *, elsewhere: bool) -> Trial:
    run = seen.run
    held, failed = (1, 0) if run.outcome.held else (0, 1)
    if run.count is not None and run.of:
        held, failed = min(run.count, 3), min(run.of - run.count, 2)
    return Trial(loads=told, outcome=run.outcome, held=held, failed=failed, elsewhere=elsewhere)


class Belief:
    """Posterior of the limits of every path seen in the trials."""

    def __init__(self, trials: tuple[Trial, ...]) -> None:
        self._row = dict(values("hold"))
        self._seen: dict[tuple[str, float, float], Vec] = {}
        self._names = sorted({_key(p) for t in trials for p in t.loads})
        self._doubt = {_key(p): p.doubt for t in trials for p in t.loads}
        self._coefs: Vec = np.ones(1)
        self._logs: dict[str, Vec] = {n: np.zeros((1, _NODES)) for n in self._names}
        for trial in sorted(trials, key=_order):
            self._held(trial)
        failures = _informative([t for t in trials if t.failed and t.outcome is not Outcome.NO_POWER])
        for trial in failures:
            self._failed(trial)
        # Prior doubt alone is no ceiling: only a path that took part in a failure can be known to have one.
        self._blamed = {_key(p) for t in failures for p in t.loads}

    def hold(self, target: Setup) -> Hold:
        """Chances of one state."""
        told = loads(target)
        if not told:
            return Hold(chance=Chance(why="no clock of this state is known, so no chance can be given"))
        start, boot, held = (
            (1.0 - self._row["flaky"]) * self._joint(told, room)
            for room in (self._row["start_room"], self._row["boot_room"], 0.0)
        )
        paths = tuple(
            PathChance(
                path=p.path,
                over_pct=100.0 * (np.exp(p.log_load) - 1.0),
                hold=self._joint((p,), 0.0),
                why=p.why,
            )
            for p in told
        )
        weak = min(paths, key=lambda p: p.hold)
        beyond = tuple(
            f"{p.why}: {p.hold:.0%} to hold by itself"
            for load, p in zip(told, paths, strict=True)
            if p.hold < self._row["ceiling_chance"] and _key(load) in self._blamed
        )
        why = f"weakest path: {weak.path} ({weak.why}), {weak.hold:.0%} by itself"
        return Hold(
            chance=Chance(start=start, boot=boot, hold=held, why=why),
            paths=paths,
            weakest=weak.path,
            beyond_ceiling=beyond,
        )

    def brief(self, target: Setup) -> tuple[float | None, bool]:
        """Chance to hold, and whether a path is beyond its ceiling: what a ranking of many states needs."""
        told = loads(target)
        if not told:
            return None, False
        beyond = any(self._alone(p) < self._row["ceiling_chance"] for p in told if _key(p) in self._blamed)
        return (1.0 - self._row["flaky"]) * self._joint(told, 0.0), beyond

    def _alone(self, load: Load) -> float:
        key = (f"alone|{_key(load)}", load.log_load, 0.0)
        if key not in self._seen:
            self._seen[key] = np.array([self._joint((load,), 0.0)])
        return float(self._seen[key][0])

    def limit(self, load: Load) -> tuple[float, float, float]:
        """Limit of a path as load in log: 5, 50 and 95 % points. For reasons and tests."""
        key = _key(load)
        nodes, weight = self._axis(load)
        logs = self._logs.get(key)
        if logs is not None:
            full = self._coefs * np.prod([self._mass(n) for n in self._names if n != key], axis=0)
            weight = np.maximum(full @ (weight * np.exp(logs)), 0.0)
        below = np.cumsum(weight) / weight.sum()
        lo, mid, hi = (float(x) for x in np.interp([0.05, 0.5, 0.95], below, nodes))
        return lo, mid, hi

    def _joint(self, told: tuple[Load, ...], room: float) -> float:
        given = {_key(p): p for p in told}
        top = self._coefs.copy()
        for name in self._names:
            load = given.pop(name, None)
            top = top * (self._mass(name) if load is None else self._carried(name, load, room))
        out = float(top.sum() / self._total())
        for load in given.values():
            nodes, weight = self._axis(load)
            out *= float(weight @ np.exp(self._steps(nodes, load.log_load, room)))
        return min(1.0, max(0.0, out))

    def _carried(self, name: str, load: Load, room: float) -> Vec:
        """Mass of each term that carries the load; many states share a load of a path."""
        key = (name, load.log_load, room)
        found = self._seen.get(key)
        if found is None:
            nodes, weight = self._axis(load)
            found = np.exp(self._logs[name]) @ (weight * np.exp(self._steps(nodes, load.log_load, room)))
            self._seen[key] = found
        return found

    def _total(self) -> float:
        key = ("", 0.0, 0.0)
        if key not in self._seen:
            masses = [self._mass(n) for n in self._names]
            self._seen[key] = np.prod([self._coefs, *masses], axis=0)
        return float(self._seen[key].sum())

    def _mass(self, name: str) -> Vec:
        key = (name, -np.inf, 0.0)
        if key not in self._seen:
            path = name.split("|")[0]
            self._seen[key] = np.asarray(np.exp(self._logs[name]) @ _prior(path, self._doubt[name])[1])
        return self._seen[key]

    def _axis(self, load: Load) -> tuple[Vec, Vec]:
        return _prior(load.path, self._doubt.get(_key(load), load.doubt))

    def _steps(self, nodes: Vec, log_load: float, room: float) -> Vec:
        """Log chance that a path with its limit at each node carries the load."""
        return _log_steps(nodes, log_load - room, self._row["softness"])

    def _held(self, trial: Trial) -> None:
        """A run that held, or the part of the way that a failed one came."""
        room = 0.0
        count = trial.held
        if count == 0:
            reached = {
                Outcome.FAILS_MID_RUN: self._row["boot_room"],
                Outcome.BOOTS: self._row["boot_room"],
                Outcome.STARTS: self._row["start_room"],
            }
            if trial.outcome not in reached:
                return
            room, count = reached[trial.outcome], 1
        for p in trial.loads:
            nodes, _ = self._axis(p)
            self._logs[_key(p)] = self._logs[_key(p)] + count * self._steps(nodes, p.log_load, room)

    def _failed(self, trial: Trial) -> None:
        """Multiply by 1 - (1 - flaky) x product of steps: one term more, of the other sign."""
        if trial.outcome is Outcome.BOOTS:
            return
        room = {Outcome.NO_START: self._row["start_room"], Outcome.STARTS: self._row["boot_room"]}.get(
            trial.outcome, 0.0
        )
        # Elsewhere another board's paths may be at fault as well: half the blame is theirs (judgement).
        share = (1.0 - self._row["flaky"]) * (0.5 if trial.elsewhere else 1.0)
        given = {_key(p): p for p in trial.loads}
        self._coefs = np.concatenate([self._coefs, -share * self._coefs])
        for name in self._names:
            old = self._logs[name]
            new = old
            if name in given:
                nodes, _ = self._axis(given[name])
                new = old + self._steps(nodes, given[name].log_load, room)
            self._logs[name] = np.concatenate([old, new])


def _key(load: Load) -> str:
    return f"{load.path}|{load.whose}"


def _order(trial: Trial) -> tuple[object, ...]:
    return tuple((p.path, p.log_load) for p in trial.loads), trial.outcome.rung, trial.held


def _informative(failures: list[Trial]) -> list[Trial]:
    """The failures that say most: under the lightest loads first, those implied by others left out."""
    kept: list[Trial] = []
    for trial in sorted(failures, key=lambda t: (sum(p.log_load for p in t.loads), _order(t))):
        mine = {_key(p): p.log_load for p in trial.loads}
        implied = any(
            o.outcome.rung <= trial.outcome.rung
            and all(mine.get(_key(p), -np.inf) >= p.log_load - 1e-9 for p in o.loads)
            for o in kept
        )
        if not implied or len(kept) < 2:
            kept.append(trial)
    return kept[:_MOST_FAILURES]


@lru_cache(maxsize=256)
def _prior(path: str, doubt: float) -> tuple[Vec, Vec]:
    """Nodes of the log limit of a path and their weights: equal slices of the widened normal."""
    row = group("hold", f"margin.{path}")
    sd = float(np.hypot(row["sd"] * values("hold")["widen"], doubt))
    z = np.linspace(-_REACH, _REACH, _NODES)
    weight = np.diff(np.concatenate([[0.0], ndtr(0.5 * (z[1:] + z[:-1])), [1.0]]))
    return row["centre"] + sd * z, weight


@lru_cache(maxsize=4096)
def _cached_steps(first: float, step: float, log_load: float, softness: float) -> Vec:
    nodes = first + step * np.arange(_NODES)
    # Logistic steps cost a tenth of normal ones; 1.702 makes the two agree within a hundredth.
    x = 1.702 * (nodes - log_load) / softness
    return np.asarray(-np.logaddexp(0.0, -x))


def _log_steps(nodes: Vec, log_load: float, softness: float) -> Vec:
    # A grid coarser than the flaky zone would make the chance a staircase: the step is at least as soft.
    step = float(nodes[1] - nodes[0])
    return _cached_steps(float(nodes[0]), step, log_load, max(softness, 0.5 * step))


def safe_load(path: str, chance: float) -> float:
    """Load (log) of a path that holds with this chance before any run; for the best first run."""
    row = group("hold", f"margin.{path}")
    return row["centre"] - quantile(chance) * row["sd"] * values("hold")["widen"]
