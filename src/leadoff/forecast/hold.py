"""The chance that a state starts, boots and holds, from what held and what failed.

Each path of the board has a limit, and the board a rate of accidents that no limit explains (``limits``). An attempt
carries its loads when no path shakes below its load and no accident comes. Attempts shake apart: a soak of many is
strong evidence that there is room, and a crash among many passes speaks of a rare fault or of a load just at its
limit, as far as the passes leave these possible. A failure says that at least one path had no room, or that there was
an accident, never which. What was carried factors over the paths and is kept exactly; where something failed, limits
and rate are drawn from that, always the same, and weighed by how likely they make the failures. More load on any one
path never raises a chance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from zlib import crc32

import msgspec
import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.limits import accidents, limits, log_steps
from leadoff.forecast.normal import Vec
from leadoff.forecast.paths import Load, loads, specimen
from leadoff.forecast.rows import values
from leadoff.forecast.trials import Part, Trial, trial
from leadoff.record.entries import Chance

_DRAWS = 4096
"""Draws of the limits that failures blame; a chance is true to about one in a hundred."""
_FEW = 8
"""When the draws that count are fewer by this factor, they are made anew about what the failures so far leave."""
_SWEEPS = 4
"""Times that each limit is drawn again in turn, given the others."""
_ACCIDENT = "accident"


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


def hold(target: Setup, runs: Iterable[Observed]) -> Hold:
    """Chances of ``target`` from every run of the book that shares a path with it."""
    return belief(target, tuple(runs)).hold(target)


def belief(of: Setup, runs: Sequence[Observed]) -> Belief:
    """What is known of the limits of this board with this processor; good for many targets."""
    trials: list[Trial] = []
    for seen in runs:
        own = seen.setup.board == of.board
        same_part = bool(of.state.value("cpu_specimen")) and specimen(seen.setup) == specimen(of)
        if own or same_part:
            trials.append(trial(seen, elsewhere=not own))
    return Belief(tuple(trials))


class Belief:
    """Posterior of the limits of every path seen in the trials, and of the rate of accidents."""

    def __init__(self, trials: tuple[Trial, ...]) -> None:
        self._row = values("hold")
        self._doubt = {_key(p): p.doubt for t in trials for p in t.loads}
        self._logs: dict[str, Vec] = {}
        self._attempts = 0.0
        for told in sorted(trials, key=_order):
            for part in told.carried:
                self._carry(told, part)
        self._failures = [(t, p) for t in sorted(trials, key=_lightest_first) for p in t.failed]
        self._blamed = {_key(p): p.path for t, _ in self._failures for p in t.loads}
        """Prior doubt alone is no ceiling: only a path that took part in a failure can be known to have one."""
        self._columns: dict[tuple[str, float], Vec] = {}
        self._chances: dict[tuple[str, float, float, float], float] = {}

    def hold(self, target: Setup) -> Hold:
        """Chances of one state."""
        told = loads(target)
        if not told:
            return Hold(chance=Chance(why="no clock of this state is known, so no chance can be given"))
        start, boot, held = (
            self._joint(told, room) for room in (self._row["start_room"], self._row["boot_room"], 0.0)
        )
        paths = tuple(
            PathChance(
                path=p.path,
                over_pct=100.0 * (np.exp(p.log_load) - 1.0),
                hold=self._joint((p,), 0.0, accident=False),
                why=p.why,
            )
            for p in told
        )
        weak = min(paths, key=lambda p: p.hold)
        beyond = tuple(
            f"{p.why}: {100.0 * p.hold:.0f} % to hold by itself"
            for load, p in zip(told, paths, strict=True)
            if p.hold < self._row["ceiling_chance"] and _key(load) in self._blamed
        )
        return Hold(
            chance=Chance(start=start, boot=boot, hold=held, why=self._why(weak, held)),
            paths=paths,
            weakest=weak.path,
            beyond_ceiling=beyond,
        )

    def chance(self, target: Setup, attempts: float = 1.0) -> float | None:
        """Chance to hold so many attempts in a row, or ``None`` where no clock is known."""
        return next(iter(self.chances(target, attempts)), None)

    def chances(self, target: Setup, *attempts: float) -> tuple[float, ...]:
        """The same for several numbers of attempts, nothing where no clock is known: what a ranking needs."""
        told = loads(target)
        return tuple(self._joint(told, 0.0, attempts=n) for n in attempts) if told else ()

    def sound(self) -> float:
        """Chance that one attempt meets no accident: what is left where every path has room."""
        return self._joint((), 0.0)

    def together(
        self, targets: Sequence[Setup], draws: int = 256, *, attempts: float = 1.0
    ) -> NDArray[np.bool_]:
        """Which of the targets hold together, (targets, draws): limits drawn from what is known, always the same.

        For questions about several states at once: what one of them tells of another. Accidents are left out.
        ``attempts``: in a row, of which the weakest counts.
        """
        told = [loads(t) for t in targets]
        kinds = {_key(p): p for some in told for p in some}
        steps = (np.arange(draws) + 0.5) / draws
        kept = np.searchsorted(np.cumsum(self._weights), steps) if self._blamed else None
        shaken: dict[str, Vec] = {}
        for name, load in kinds.items():
            nodes, weight = self._axis(name, load.path, load.doubt)
            at = self._drawn[name][kept] if name in self._blamed else _slices(name, weight, draws)
            softness = max(self._row["softness"], 0.5 * float(nodes[1] - nodes[0])) / 1.702
            weakest = -softness * np.log(attempts)
            shaken[name] = nodes[at] + weakest + _rng(f"{name} shakes").logistic(0.0, softness, draws)
        return np.array([np.all([shaken[_key(p)] >= p.log_load for p in some], axis=0) for some in told])

    def _why(self, weak: PathChance, held: float) -> str:
        sound = self.sound()
        if weak.hold >= sound:
            whose = "this board" if self._attempts or self._failures else "boards"
            rate, rating = 100.0 * (1.0 - sound), max(0.0, 100.0 * (1.0 - held / sound))
            return (
                f"no path is near a limit: {rate:.1f} % is the rate at which {whose} may fail in any state, "
                f"{rating:.1f} % that a part does not carry its rating"
            )
        return f"weakest path: {weak.path} ({weak.why}), {100.0 * weak.hold:.0f} % by itself"

    def _joint(
        self, told: tuple[Load, ...], room: float, *, accident: bool = True, attempts: float = 1.0
    ) -> float:
        out = 1.0
        drawn: Vec | None = None
        if accident and not self._blamed:
            rate, weight = self._rates
            out = float(weight @ np.exp(-attempts * rate))
        elif accident:
            drawn = self._column(_ACCIDENT, 0.0)
        for p in told:
            if _key(p) in self._blamed:
                column = self._column(_key(p), p.log_load - room)
                drawn = column if drawn is None else drawn + column
            else:
                out *= self._alone(p, room, attempts)
        if drawn is not None:
            out *= float(self._weights @ np.exp(attempts * drawn))
        return min(1.0, max(0.0, out))

    def _alone(self, load: Load, room: float, attempts: float) -> float:
        """Chance of one path that took part in no failure."""
        key = (_key(load), load.doubt, load.log_load - room, attempts)
        if key not in self._chances:
            nodes, weight = self._axis(_key(load), load.path, load.doubt)
            self._chances[key] = float(weight @ np.exp(attempts * log_steps(nodes, load.log_load - room)))
        return self._chances[key]

    def _carry(self, told: Trial, part: Part) -> None:
        """A stretch of load that was carried: it factors over the paths."""
        n = part.attempts * part.times
        for p in told.loads:
            if part.of and p.path.partition(" ")[0] not in part.of:
                continue
            nodes, _ = limits(p.path, self._doubt[_key(p)])
            before = self._logs.get(_key(p), 0.0)
            self._logs[_key(p)] = before + n * log_steps(nodes, p.log_load - part.room)
        if not told.elsewhere:
            self._attempts += n

    def _axis(self, name: str, path: str, doubt: float) -> tuple[Vec, Vec]:
        """Nodes of a limit and how likely what was carried leaves each."""
        nodes, weight = limits(path, self._doubt.get(name, doubt))
        if name not in self._logs:
            return nodes, weight
        return nodes, _scaled(np.log(np.maximum(weight, 1e-300)) + self._logs[name])

    @cached_property
    def _rates(self) -> tuple[Vec, Vec]:
        rate, weight = accidents()
        return rate, _scaled(np.log(np.maximum(weight, 1e-300)) - self._attempts * rate)

    # where something failed: draws of the limits that took part, and of the rate

    @cached_property
    def _axes(self) -> dict[str, tuple[Vec, Vec]]:
        found = {n: self._axis(n, path, self._doubt[n]) for n, path in sorted(self._blamed.items())}
        return {_ACCIDENT: self._rates, **found}

    @cached_property
    def _posterior(self) -> tuple[dict[str, NDArray[np.intp]], Vec]:
        """Places on the axes and the weight of each draw."""
        at = {n: _slices(n, w, _DRAWS) for n, (_, w) in self._axes.items()}
        rng = _rng("failures")
        log_weight = np.zeros(_DRAWS)
        for k, failure in enumerate(self._failures):
            log_weight = log_weight + self._missed(failure, at)
            weight = _scaled(log_weight)
            if 1.0 / float(weight @ weight) < _DRAWS / _FEW:
                kept = np.searchsorted(np.cumsum(weight), (np.arange(_DRAWS) + rng.random()) / _DRAWS)
                at = {n: a[np.minimum(kept, _DRAWS - 1)] for n, a in at.items()}
                at = self._moved(at, self._failures[: k + 1], rng)
                log_weight = np.zeros(_DRAWS)
        return at, _scaled(log_weight)

    @property
    def _drawn(self) -> dict[str, NDArray[np.intp]]:
        return self._posterior[0]

    @property
    def _weights(self) -> Vec:
        return self._posterior[1]

    def _missed(self, failure: tuple[Trial, Part], at: dict[str, NDArray[np.intp]]) -> Vec:
        """How likely each draw makes a failure, in logs. Elsewhere another board's paths may be at fault as well."""
        told, part = failure
        carried = np.zeros(_DRAWS)
        for p in told.loads:
            nodes = self._axes[_key(p)][0]
            carried = carried + log_steps(nodes, p.log_load - part.room)[at[_key(p)]]
        if not told.elsewhere:
            carried = carried - self._axes[_ACCIDENT][0][at[_ACCIDENT]]
        held = np.exp(part.attempts * carried)
        if told.elsewhere:
            held = self._row["elsewhere_share"] * held
        return np.asarray(part.times * np.log(np.maximum(1.0 - held, 1e-12)))

    def _moved(
        self,
        at: dict[str, NDArray[np.intp]],
        failures: Sequence[tuple[Trial, Part]],
        rng: np.random.Generator,
    ) -> dict[str, NDArray[np.intp]]:
        """Draws that were copied are moved apart: one axis at a time, to places that are as likely (Metropolis)."""
        here = sum((self._missed(f, at) for f in failures), np.zeros(_DRAWS))
        for _ in range(_SWEEPS):
            for name, (_, weight) in self._axes.items():
                place = np.searchsorted(np.cumsum(weight), rng.random(_DRAWS)).clip(0, len(weight) - 1)
                there = {**at, name: place}
                then = sum((self._missed(f, there) for f in failures), np.zeros(_DRAWS))
                go = np.log(rng.random(_DRAWS)) < then - here
                at = {**at, name: np.where(go, place, at[name])}
                here = np.where(go, then, here)
        return at

    def _column(self, name: str, log_load: float) -> Vec:
        """Log chance of every draw to carry a load on one path, or to meet no accident."""
        key = (name, log_load)
        if key not in self._columns:
            nodes, at = self._axes[name][0], self._drawn[name]
            self._columns[key] = (-nodes if name == _ACCIDENT else log_steps(nodes, log_load))[at]
        return self._columns[key]


def _scaled(log_weight: Vec) -> Vec:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _rng(name: str) -> np.random.Generator:
    return np.random.default_rng(crc32(name.encode()))


def _slices(name: str, weight: Vec, draws: int) -> NDArray[np.intp]:
    """Places drawn from weights, one in each slice of the chance: few tell as much as many at random."""
    at = (_rng(name).permutation(draws) + 0.5) / draws
    return np.asarray(np.searchsorted(np.cumsum(weight), at * weight.sum()).clip(0, len(weight) - 1))


def _key(load: Load) -> str:
    return f"{load.path}|{load.whose}"


def _order(told: Trial) -> tuple[object, ...]:
    parts = tuple((p.room, p.attempts, p.times) for p in told.carried)
    return tuple((p.path, p.log_load) for p in told.loads), parts


def _lightest_first(told: Trial) -> tuple[object, ...]:
    return max((p.log_load for p in told.loads), default=0.0), _order(told)
