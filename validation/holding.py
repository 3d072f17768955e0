"""Chances to hold on generated boards: is a state that is given 70 % one that holds seven times in ten?

    python validation/holding.py [BOARDS] [--seed N] [--accidents SHARE] [--unknown SHARE] [--variant]

Each board starts at its slowest state that holds and is led through a history by what is seen at the bench alone: a
state near the last that held, the same state again, an old failure tried anew, a soak of some hours, a count of clean
copies. Before every act the book is asked for the chance that one more attempt holds in that state; what is judged is
the true chance of the act's first attempt (an attempt holds or not by the limits of the generator, which shake from
attempt to attempt). ``--accidents``: that share of the boards fails now and then for no limit at all, at a rate of
its own, between one attempt in 3 and one in 300, in every state. ``--variant``: limits that scatter by 8 % more.
Printed: by tenth of the forecast the mean told and the mean true chance; by kind of act the same; mean log score of
outcomes drawn from the true chances (0 is perfect, and -.693 says one half every time), beside what the truth scores.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import islice

import numpy as np
from books import Book, book_of  # type: ignore[import-not-found,unused-ignore]
from next_run import grid  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray

from leadoff.forecast.facts import Observed
from leadoff.forecast.hold import belief
from leadoff.forecast.paths import loads
from leadoff.record.runs import Outcome, Run
from leadoff.validation import hidden, worlds
from leadoff.validation.worlds import World

CLASSES = ("486vlb", "486pci", "socket7", "386dx", "slot1", "socket5", "386sx")
STEPS = 12
PER_HOUR = 12
COPY_ATTEMPTS = 10
"""Copies of one count that load a machine as long as one run does."""
State = Mapping[str, str]


@dataclass(frozen=True)
class Told:
    """One act: what was told, what is true, and what kind of act it was."""

    kind: str
    told: float
    true: float
    within: bool


@dataclass
class Bench:
    """One board, what was run on it, and what is hidden of it."""

    seed: int
    book: Book
    board: str
    states: Sequence[State]
    rng: np.random.Generator
    accident: float
    runs: list[Observed] = field(default_factory=list)
    held: list[State] = field(default_factory=list)
    failed: list[State] = field(default_factory=list)
    asked: list[Told] = field(default_factory=list)

    def true(self, state: State) -> float:
        return float(self.book.world.truth(self.board, dict(state)).chance) * (1.0 - self.accident)

    def ask(self, kind: str, state: State) -> None:
        """What the book says of a state before it is tried."""
        setup = self.book.setup(self.board, self.book.world.declare(self.board, dict(state)))
        told = belief(setup, self.runs).chance(setup)
        if told is not None:
            within = all(p.log_load <= 1e-9 for p in loads(setup))
            self.asked.append(Told(kind, told, self.true(state), within))

    def note(self, state: State, run: Run) -> None:
        setup = self.book.setup(self.board, self.book.world.declare(self.board, dict(state)))
        self.runs.append(Observed(run=run, setup=setup, when=f"2030-01-01T{len(self.runs):05d}"))
        (self.held if run.outcome.held else self.failed).append(state)

    def attempt(self, state: State) -> None:
        """One run, by the generator; an accident ends it midway."""
        n = len(self.runs)
        run = self.book.world.measure(self.board, dict(state), "w4", boot=n, number=f"s{n}")
        if run.outcome.held and self.rng.random() < self.accident:
            run = _run(self, Outcome.FAILS_MID_RUN, "mid-run", 60.0)
        self.note(state, run)

    def soak(self, state: State, hours: int) -> None:
        attempts = hours * PER_HOUR
        lasted = next((k for k in range(attempts) if self.rng.random() >= self.true(state)), None)
        ended = Outcome.SOAKED if lasted is None else Outcome.FAILS_MID_RUN
        last = attempts if lasted is None else lasted + 0.5
        self.note(state, _run(self, ended, "soak", 3600.0 * last / PER_HOUR))

    def copies(self, state: State, of: int) -> None:
        share = self.true(state) ** (1.0 / COPY_ATTEMPTS)
        bad = int(np.sum(self.rng.random(of) >= share))
        ended = Outcome.COPY_CLEAN if bad == 0 else Outcome.FAILS_MID_RUN
        self.note(state, replace_run(_run(self, ended, "copy", None), count=bad, of=of))


def replace_run(run: Run, *, count: int, of: int) -> Run:
    return Run(
        number=run.number,
        board=run.board,
        workload=None,
        outcome=run.outcome,
        place=run.place,
        count=count,
        of=of,
    )


def _run(bench: Bench, outcome: Outcome, place: str, after_s: float | None) -> Run:
    return Run(
        number=f"s{len(bench.runs)}",
        board=bench.board,
        workload=None,
        outcome=outcome,
        place=place,
        after_s=after_s,
    )


def near(bench: Bench, at: State) -> State | None:
    """A state not tried yet that differs in one or two settings."""
    rng, tried = bench.rng, [*bench.held, *bench.failed]
    wanted = 1 if rng.random() < 0.6 else 2
    left = [s for s in bench.states if s not in tried and sum(s[n] != at.get(n) for n in s) == wanted]
    return left[int(rng.integers(len(left)))] if left else None


def history(bench: Bench) -> None:
    """One board's acts, each asked about before it is done."""
    rng = bench.rng
    for _ in range(STEPS):
        here = bench.held[-1] if bench.held else bench.states[0]
        draw = rng.random()
        if draw < 0.5:
            state = near(bench, here)
            if state is None:
                return
            bench.ask("untried", state)
            bench.attempt(state)
        elif draw < 0.65:
            bench.ask("again what held", here)
            bench.attempt(here)
        elif draw < 0.8 and bench.failed:
            state = bench.failed[int(rng.integers(len(bench.failed)))]
            bench.ask("again what held and failed" if state in bench.held else "again what failed", state)
            bench.attempt(state)
        elif draw < 0.92:
            bench.ask("before a soak", here)
            bench.soak(here, int(rng.integers(1, 9)))
            bench.ask("after a soak", here)
        else:
            bench.ask("before copies", here)
            bench.copies(here, 60)
            bench.ask("after copies", here)


def made(seed: int, accidents: float, unknown: float) -> Bench:
    """A board at the bench, with nothing run yet."""
    kind = CLASSES[seed % len(CLASSES)]
    world = World(seed, boards=1, runs=1, classes=(kind,), workloads=("w4",), unknown=unknown, wrong=0.0)
    book: Book = book_of(world)
    board = world.boards[0].id
    rng = np.random.default_rng((seed, 11))
    here = world.state(board)
    every = [dict(s) for s in islice(world.reachable(board, 20_000), 20_000)]
    states = grid(every, here, 300, rng)
    accident = float(np.exp(rng.uniform(np.log(1 / 300), np.log(1 / 3)))) if rng.random() < accidents else 0.0
    return Bench(seed, book, board, states, rng, accident)


@contextmanager
def scattered() -> Iterator[None]:
    """Silicon whose limits scatter more than the generator's own, each by 8 % on top."""
    drawn = hidden.draw

    def more(seed: int, board_id: str, cls: object, chipset: object, *, other: bool) -> hidden.Hidden:
        rng = np.random.default_rng((seed, 23))
        found = drawn(seed, board_id, cls, chipset, other=other)  # type: ignore[arg-type]
        by = {n: float(np.exp(0.08 * rng.standard_normal())) for n in ("sram", "logic", "dram", "top_mhz")}
        limits = replace(found.limits, **{n: getattr(found.limits, n) * k for n, k in by.items()})
        return replace(found, limits=limits)

    worlds.__dict__["draw"] = more
    try:
        yield
    finally:
        worlds.__dict__["draw"] = drawn


def judge(boards: int, seed: int, accidents: float, unknown: float) -> list[Told]:
    """Every act of every board."""
    out: list[Told] = []
    for k in range(boards):
        bench = made(seed + k, accidents, unknown)
        for state in [bench.states[int(i)] for i in bench.rng.integers(len(bench.states), size=3)]:
            bench.ask("nothing run", state)
        start = bench.book.world.state(bench.board)
        bench.ask("nothing run, as found", start)
        bench.attempt(start)
        history(bench)
        out += bench.asked
    return out


def table(rows: Sequence[Told]) -> None:
    """The tables."""
    told, true = np.array([r.told for r in rows]), np.array([r.true for r in rows])
    tenth = np.minimum((10.0 * told).astype(int), 9)
    print("told              acts   mean told   mean true")
    for k in range(10):
        at = tenth == k
        if at.any():
            print(
                f"{k * 10:3d} to {k * 10 + 10:3d} % {at.sum():9d} {told[at].mean():11.3f} {true[at].mean():11.3f}"
            )
    kinds: dict[str, list[int]] = defaultdict(list)
    for i, r in enumerate(rows):
        kinds[r.kind].append(i)
        if r.within:
            kinds[f"within every rating: {'nothing run' if r.kind.startswith('nothing') else 'run'}"].append(
                i
            )
    print("kind                                acts   mean told   mean true   log score   of the truth")
    for kind in [*sorted(kinds), "all"]:
        some = np.array(kinds[kind] if kind in kinds else range(len(rows)))
        p, t = told[some], true[some]
        print(
            f"{kind:34s} {len(p):5d} {p.mean():11.3f} {t.mean():11.3f} {score(p, t):11.4f} {score(t, t):14.4f}"
        )
    gap = sum(abs(told[tenth == k].sum() - true[tenth == k].sum()) for k in range(10)) / len(rows)
    print(f"mean gap of the tenths {gap:.4f}")


def score(told: NDArray[np.float64], true: NDArray[np.float64]) -> float:
    """Mean expected log score."""
    p = np.clip(told, 1e-4, 1.0 - 1e-4)
    return float(np.mean(true * np.log(p) + (1.0 - true) * np.log1p(-p)))


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("boards", type=int, nargs="?", default=100)
    parser.add_argument("--seed", type=int, default=720_000)
    parser.add_argument("--accidents", type=float, default=0.0)
    parser.add_argument("--unknown", type=float, default=0.28)
    parser.add_argument("--variant", action="store_true")
    given = parser.parse_args()
    if given.variant:
        with scattered():
            rows = judge(given.boards, given.seed, given.accidents, given.unknown)
    else:
        rows = judge(given.boards, given.seed, given.accidents, given.unknown)
    table(rows)


if __name__ == "__main__":
    main()
