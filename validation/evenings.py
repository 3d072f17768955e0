"""Whole evenings on generated boards: minutes until a state within 1 % of the best stable one has passed its soak.

    python validation/evenings.py [BOARDS]

Boards, changeovers, runs and failures are those of ``next_run.py``. A state is stable when one attempt holds with
98 %; the wanted grade is *soaked*: an hour, passed when twelve attempts in a row hold, so that a flaky state costs
its soak and teaches that it failed. A strategy says itself when it soaks. The simple ones soak their best after three
tries in a row without a better one, then go on; the list soaks before what is worth less, then goes on to crumbs; the
best single step each time soaks when the stop rule ends the search. When 900 minutes are gone, or a strategy ends
without the goal, 900 count.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
from next_run import (  # type: ignore[import-not-found,unused-ignore]
    MOST,
    Bench,
    Strategy,
    changeover,
    clocks_then_patterns,
    fastest_first,
    made,
    one_factor,
)

from leadoff.forecast.facts import Observed
from leadoff.forecast.hold import belief
from leadoff.plan.draws import drawn_gains, gain_of
from leadoff.plan.now import Candidate, Plan, now
from leadoff.plan.route import Option, Route, route
from leadoff.plan.worth import plan_values, steady_attempts
from leadoff.record.runs import Outcome, Run

CAP = 900.0
SOAK = 60.0
ATTEMPTS = 12
STABLE = 0.98
EVENING = 180.0
PATIENCE = 3
RUN, FAILURE = 4.0, 4.0
Deed = tuple[str, int]
"""What to do next: ``run`` or ``soak``, and which state."""


@dataclass
class Evenings:
    """A bench with soaks. ``soaked``: what passed and what failed its soak."""

    bench: Bench
    rng: np.random.Generator
    scores: dict[int, float] = field(default_factory=dict)
    soaked: dict[int, bool] = field(default_factory=dict)
    changing: float = 0.0
    done: bool = False

    def run(self, k: int) -> bool:
        """One run; the goal takes a soak, never a run alone."""
        self.changing += changeover(self.bench.at, self.bench.states[k])
        held = bool(self.bench.go(k))
        self.bench.done = False
        if held:
            self.scores[k] = float(self.bench.times[k])
        return held

    def soak(self, k: int) -> bool:
        """An hour at a state, or less when it fails."""
        bench = self.bench
        state = bench.states[k]
        self.changing += changeover(bench.at, state)
        bench.minutes += changeover(bench.at, state)
        bench.at = state
        chance = bench.book.world.truth(bench.board, dict(state)).chance
        lasted = next((n for n in range(ATTEMPTS) if self.rng.random() >= chance), None)
        passed = lasted is None
        bench.minutes += SOAK if lasted is None else SOAK * (lasted + 1) / ATTEMPTS + FAILURE
        bench.failures += not passed
        number = f"k{len(bench.runs)}"
        outcome = Outcome.SOAKED if passed else Outcome.FAILS_MID_RUN
        lasted_s = 60.0 * SOAK * (1.0 if lasted is None else (lasted + 0.5) / ATTEMPTS)
        done = Run(
            number=number, board=bench.board, workload=None, outcome=outcome, place="soak", after_s=lasted_s
        )
        when = f"2030-01-02T{len(bench.runs):05d}"
        bench.runs.append(Observed(run=done, setup=bench.setup(state), when=when))
        self.soaked[k] = passed
        self.done = self.done or (passed and bench.times[k] <= bench.best + 0.01)
        return passed

    def best(self) -> int | None:
        """The best state that held and did not fail its soak."""
        held = [k for k in self.scores if self.soaked.get(k, True)]
        return min(held, key=lambda k: self.scores[k]) if held else None

    def to_soak(self) -> int | None:
        """The best, if it was not soaked yet."""
        k = self.best()
        return None if k is None or k in self.soaked else k


Way = Callable[[Evenings], Iterator[Deed]]


def simple(strategy: Strategy) -> Way:
    """A simple strategy with soaks: its best after ``PATIENCE`` tries in a row that brought no better one."""

    def go(of: Evenings) -> Iterator[Deed]:
        idle, best = 0, of.best()
        for k in strategy(of.bench, of.rng):
            yield "run", k
            idle, best = (idle + 1, best) if of.best() == best else (0, of.best())
            if idle >= PATIENCE and (waits := of.to_soak()) is not None:
                yield "soak", waits
                idle, best = 0, of.best()
        while (waits := of.to_soak()) is not None:
            yield "soak", waits

    return go


def single(of: Evenings) -> Iterator[Deed]:
    """The best single step each time, until the planner says to stop; then the soak of the best."""
    while True:
        plan, _ = _plan(of, 3)
        acts = [a for a in plan.acts if a.kind == "run" and int(a.candidate) not in of.bench.tried]
        if acts and not plan.stop.startswith("stop"):
            yield "run", int(acts[0].candidate)
        elif (waits := of.to_soak()) is not None:
            yield "soak", waits
        else:
            return


def routed(of: Evenings) -> Iterator[Deed]:
    """A list for what is left of the evening, followed until a result makes a later step of it idle."""
    while True:
        found = _list(of)
        for stage in found.stages:
            before = len(of.scores)
            yield "run", int(stage.candidate)
            idle = stage.not_if_holds if len(of.scores) > before else stage.not_if_fails
            if idle:
                break
        if not found.stages:
            waits = of.to_soak()
            if waits is None:
                return
            yield "soak", waits


def _plan(of: Evenings, limit: int) -> tuple[Plan, dict[str, Candidate]]:
    bench = of.bench
    found = {
        str(k): Candidate(id=str(k), setup=bench.setup(s), minutes=changeover(bench.at, s))
        for k, s in enumerate(bench.states)
        if k not in bench.tried
    }
    if not found:
        return Plan(acts=(), stop="stop: nothing is left"), found
    return now(list(found.values()), tuple(bench.runs), (bench.workload,), limit=limit), found


def _list(of: Evenings) -> Route:
    bench = of.bench
    plan, found = _plan(of, 24)
    acts = [
        a for a in plan.acts if a.kind == "run" and a.candidate in found and a.chance_hold.value is not None
    ]
    if not acts:
        return Route(stages=(), minutes=0.0, gain_pct=0.0)
    known = belief(found[acts[0].candidate].setup, bench.runs)
    options = [
        Option(
            candidate=a.candidate,
            gain_pct=gain_of(a),
            chance=a.chance_hold.value or 0.0,
            steady=known.chance(found[a.candidate].setup, steady_attempts()) or 0.0,
            minutes=RUN,
        )
        for a in acts
    ]
    setups = [found[o.candidate].setup for o in options]
    holds = known.together(setups, attempts=steady_attempts())
    gains = drawn_gains(acts, setups, (bench.workload,), tuple(bench.runs), draws=holds.shape[1])

    def between(a: str, b: str) -> float:
        return float(changeover(bench.states[int(a)] if a else bench.at, bench.states[int(b)]))

    left = EVENING - bench.minutes % EVENING
    room = left if left > 40.0 else left + EVENING
    floor = "soaked" if of.to_soak() is None else "soak"
    least = plan_values()[f"{floor}_pct_per_minute"]
    return route(options, holds, gains, between, minutes=room, failure=FAILURE, least=least)


WAYS: Mapping[str, Way] = {
    "list for the evening": routed,
    "best single step": single,
    "one factor at a time": simple(one_factor),
    "fastest clock first": simple(fastest_first),
    "clocks, then patterns": simple(clocks_then_patterns),
}


@dataclass(frozen=True)
class Outcomes:
    """What one strategy cost on one board."""

    minutes: float
    done: bool
    crashes: int
    soaks: int
    changing: float


def simulate(seed: int, name: str, *, most: int = MOST) -> Outcomes:
    """Evenings on one board by one strategy."""
    bench, start = made(seed, most=most, holding=STABLE)
    of = Evenings(bench=bench, rng=np.random.default_rng((seed, 7)))
    of.run(start)
    bench.minutes = of.changing = 0.0
    for kind, k in WAYS[name](of):
        if kind == "soak":
            of.soak(k)
        else:
            of.run(k)
        if of.done or bench.minutes >= CAP:
            break
    done = of.done and bench.minutes < CAP
    return Outcomes(bench.minutes if done else CAP, done, bench.failures, len(of.soaked), of.changing)


def table(boards: int, first: int = 910_000, most: int = MOST) -> None:
    """Run every strategy and print what it cost."""
    found = {n: [simulate(first + k, n, most=most) for k in range(boards)] for n in WAYS}
    for name, rows in found.items():
        m = np.array([r.minutes for r in rows])
        print(
            f"{name:22s} mean {m.mean():6.1f}  median {np.median(m):6.1f}  90th {np.quantile(m, 0.9):6.1f} minutes  "
            f"reached {np.mean([r.done for r in rows]):.2f}  crashes {np.mean([r.crashes for r in rows]):.1f}  "
            f"soaks {np.mean([r.soaks for r in rows]):.1f}  changeovers {np.mean([r.changing for r in rows]):.0f} min"
        )
    mine = np.array([r.minutes for r in found["list for the evening"]])
    rng = np.random.default_rng(0)
    again = [rng.integers(boards, size=boards) for _ in range(1000)]
    for name, rows in found.items():
        other = np.array([r.minutes for r in rows])
        if name != "list for the evening":
            lo, hi = np.quantile([mine[i].mean() / other[i].mean() for i in again], [0.05, 0.95])
            print(f"list over {name}: means {mine.mean() / other.mean():.2f} (90 % {lo:.2f} to {hi:.2f})")


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("boards", type=int, nargs="?", default=50)
    parser.add_argument("--first", type=int, default=910_000)
    parser.add_argument("--grids", type=int, default=MOST, help="states of a board at most")
    given = parser.parse_args()
    table(given.boards, given.first, given.grids)


if __name__ == "__main__":
    main()
