"""The chance that a state starts, boots and holds, from what held and what failed.

Each path of the board has a limit, log-normal before any run (the scatter widened, see the data rows). A run
that held says that every path had room; a failure that at least one had not, never which one. The posterior
is exact: the likelihood of a set of runs is a signed sum of products over the paths, so no path has to be
blamed and no draws are needed. More load on any one path never raises a chance.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

import msgspec
import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.normal import Vec, ndtr, quantile
from leadoff.forecast.paths import Load, loads, specimen
from leadoff.forecast.rows import group, values
from leadoff.record.entries import Chance
from leadoff.record.runs import Outcome

_NODES = 61
_REACH = 3.6
_UNDEFINED = ("refuses", "cannot run")
_LEAST = 1e-9
"""Failures that make the whole record less likely than this are left out: the signed sum would drown in rounding, and
a state of ease that failed so often tells of a fault and not of a limit."""
_DRAWS = 8192
_MOST_TERMS = 4000
"""Failures beyond this many terms are left out, those under the hardest loads first."""


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
    if run.outcome is Outcome.BOOTS and (not run.place or run.place.startswith(_UNDEFINED)):
        failed = 0  # it came up, and nobody asked more of it; or what was asked exists in no state like this
    if run.count is not None and run.of:
        held, failed = min(run.count, 3), min(run.of - run.count, 2)
    return Trial(loads=told, outcome=run.outcome, held=held, failed=failed, elsewhere=elsewhere)


class Belief:
    """Posterior of the limits of every path seen in the trials.

    Failures are expanded into a signed sum over the ways of naming culprits. Attempts that failed and
    the one to come share the shake of a path, so that two loads of one path amount to the harder one and equal
    terms fall together: the sum stays small however many failures there are, and what failed at a load is not
    thought to hold at it by shaking otherwise.
    """

    def __init__(self, trials: tuple[Trial, ...]) -> None:
        self._row = dict(values("hold"))
        self._seen: dict[tuple[str, float, float], Vec] = {}
        self._names = sorted({_key(p) for t in trials for p in t.loads})
        self._doubt = {_key(p): p.doubt for t in trials for p in t.loads}
        self._logs: dict[str, Vec] = {n: np.zeros(_NODES) for n in self._names}
        for trial in sorted(trials, key=_order):
            self._held(trial)
        failures = sorted(
            (t for t in trials if t.failed and t.outcome is not Outcome.NO_POWER), key=_lightest_first
        )
        told = [(t, self._failed_at(t)) for t in failures]
        # Loads that failed, by path, in order; place 0 stands for a term in which the path has no part.
        self._levels = {n: sorted({at[n] for _, at in told if n in at}) for n in self._names}
        self._told = [(at, self._blame(t)) for t, at in told]
        self._coefs: Vec = np.ones(1)
        self._places: NDArray[np.intp] = np.zeros((1, len(self._names)), dtype=np.intp)
        self._unfailed = self._total()
        self._seen.pop(("", 0.0, 0.0))
        for trial, at in told:
            self._failed(trial, at)
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

    def chance(self, target: Setup) -> float | None:
        """Chance to hold, or ``None`` where no clock is known: what a ranking of many states needs."""
        told = loads(target)
        return (1.0 - self._row["flaky"]) * self._joint(told, 0.0) if told else None

    def together(self, targets: Sequence[Setup], draws: int = 256) -> NDArray[np.bool_]:
        """Which of the targets hold together, (targets, draws): limits drawn from what is known, always the same.

        For questions about several states at once: what one of them tells of another. The flaky share is left
        out, and where the runs so far are nearly impossible together the draws are few different ones.
        """
        told = [loads(t) for t in targets]
        kinds = {_key(p): p for some in told for p in some}
        doubt = {**{n: p.doubt for n, p in kinds.items()}, **self._doubt}
        rng = np.random.default_rng(20)
        limits: dict[str, Vec] = {}
        for name in sorted(doubt):
            nodes, weight = _prior(name.split("|")[0], doubt[name])
            weight = weight * np.exp(self._logs[name]) if name in self._logs else weight
            below = np.cumsum(weight) / weight.sum()
            # One draw in each slice of the chance, so that few draws tell as much as many at random.
            at = (rng.permutation(_DRAWS) + 0.5) / _DRAWS
            shake = max(self._row["softness"], 0.5 * float(nodes[1] - nodes[0])) / 1.702
            limits[name] = nodes[np.searchsorted(below, at)] + rng.logistic(0.0, shake, _DRAWS)
        likely = np.ones(_DRAWS)
        for loaded, share in self._told:
            likely *= 1.0 - share * np.all([limits[n] >= x for n, x in loaded.items()], axis=0)
        steps = (np.arange(draws) + 0.5) / draws
        kept = np.searchsorted(np.cumsum(likely) / likely.sum(), steps)
        return np.array(
            [np.all([limits[_key(p)][kept] >= p.log_load for p in some], axis=0) for some in told]
        )

    def limit(self, load: Load) -> tuple[float, float, float]:
        """Limit of a path as load in log: 5, 50 and 95 % points. For reasons and tests."""
        key = _key(load)
        nodes, weight = self._axis(load)
        if key in self._names:
            others = np.prod([self._mass(n)[self._at(n)] for n in self._names if n != key], axis=0)
            shares = np.bincount(self._at(key), self._coefs * others, len(self._levels[key]) + 1)
            steps = [np.ones(_NODES), *(np.exp(self._steps(nodes, x, 0.0)) for x in self._levels[key])]
            weight = np.maximum(shares @ np.array(steps), 0.0) * weight * np.exp(self._logs[key])
        below = np.cumsum(weight) / weight.sum()
        lo, mid, hi = (float(x) for x in np.interp([0.05, 0.5, 0.95], below, nodes))
        return lo, mid, hi

    def _joint(self, told: tuple[Load, ...], room: float) -> float:
        given = {_key(p): p for p in told}
        top = self._coefs
        for name in self._names:
            load = given.pop(name, None)
            mass = self._mass(name, -np.inf if load is None else load.log_load - room)
            top = top * mass[self._at(name)]
        out = float(top.sum() / self._total())
        for load in given.values():
            nodes, weight = self._axis(load)
            out *= float(weight @ np.exp(self._steps(nodes, load.log_load, room)))
        return min(1.0, max(0.0, out))

    def _at(self, name: str) -> NDArray[np.intp]:
        return self._places[:, self._names.index(name)]

    def _reach(self, name: str, log_load: float) -> float:
        """How likely the runs that held are, and that the path carries this load."""
        key = (name, log_load, 0.0)
        if key not in self._seen:
            nodes, weight = _prior(name.split("|")[0], self._doubt[name])
            step = self._steps(nodes, log_load, 0.0) if log_load > -np.inf else 0.0
            self._seen[key] = np.array([weight @ np.exp(self._logs[name] + step)])
        return float(self._seen[key][0])

    def _mass(self, name: str, log_load: float = -np.inf) -> Vec:
        """The same for the terms of each place of a path: the harder of its load and theirs."""
        key = (name, log_load, 1.0)
        if key not in self._seen:
            levels = (-np.inf, *self._levels[name])
            self._seen[key] = np.array([self._reach(name, max(x, log_load)) for x in levels])
        return self._seen[key]

    def _total(self) -> float:
        key = ("", 0.0, 0.0)
        if key not in self._seen:
            masses = [self._mass(n)[self._at(n)] for n in self._names]
            self._seen[key] = np.prod([self._coefs, *masses], axis=0)
        return float(self._seen[key].sum())

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

    def _failed_at(self, trial: Trial) -> dict[str, float]:
        """The loads that were too much, somewhere: by how far the run came."""
        room = {Outcome.NO_START: self._row["start_room"], Outcome.STARTS: self._row["boot_room"]}.get(
            trial.outcome, 0.0
        )
        return {_key(p): p.log_load - room for p in trial.loads}

    def _blame(self, trial: Trial) -> float:
        """Elsewhere another board's paths may be at fault as well: half the blame is theirs (judgement)."""
        return (1.0 - self._row["flaky"]) * (0.5 if trial.elsewhere else 1.0)

    def _failed(self, trial: Trial, at: Mapping[str, float]) -> None:
        """Multiply by 1 - (1 - flaky) x product of steps: as many terms more, of the other sign."""
        if len(self._coefs) > _MOST_TERMS:
            return
        share = self._blame(trial)
        before = self._coefs, self._places
        own = np.array([self._levels[n].index(at[n]) + 1 if n in at else 0 for n in self._names])
        places = np.concatenate([self._places, np.maximum(self._places, own)])
        self._places, which = np.unique(places, axis=0, return_inverse=True)
        coefs = np.concatenate([self._coefs, -share * self._coefs])
        self._coefs = np.bincount(which.ravel(), coefs).astype(np.float64)
        left = self._total()
        self._seen.pop(("", 0.0, 0.0))
        if left < _LEAST * self._unfailed:
            self._coefs, self._places = before


def _key(load: Load) -> str:
    return f"{load.path}|{load.whose}"


def _order(trial: Trial) -> tuple[object, ...]:
    return tuple((p.path, p.log_load) for p in trial.loads), trial.outcome.rung, trial.held


def _lightest_first(trial: Trial) -> tuple[object, ...]:
    return max((p.log_load for p in trial.loads), default=0.0), _order(trial)


def margin(path: str) -> Mapping[str, float]:
    """How far a path goes above its reference, and its scatter: by the first word of its name."""
    return group("hold", f"margin.{path.partition(' ')[0]}")


@lru_cache(maxsize=256)
def _prior(path: str, doubt: float) -> tuple[Vec, Vec]:
    """Nodes of the log limit of a path and their weights: equal slices of the widened normal."""
    row = margin(path)
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
    row = margin(path)
    return row["centre"] - quantile(chance) * row["sd"] * values("hold")["widen"]
