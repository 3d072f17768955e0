"""Times of the forecast, beside a general sampler and a Bayesian-optimisation library in the same run.

    python benchmarks/forecast.py        (needs: pip install emcee bayesian-optimization; left out where missing)

Seconds are the processor's, one thread.

Goals: fit of 400 runs on 40 boards 1 s; one more run 0.1 s; 200,000 candidates ranked 0.1 s warm; ``now`` as a whole
process 1.5 s.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "validation"))

from books import Book, book_of  # type: ignore[import-not-found,unused-ignore]
from sampler import Target, places_of, sample  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast.fit import collect, fit
from leadoff.forecast.joint import Ask, tell
from leadoff.forecast.kinds import kind_of
from leadoff.forecast.ranking import Ranker, best_first, table_of
from leadoff.loop.demo import write_world
from leadoff.loop.session import Session
from leadoff.validation.worlds import World


def timed(what: Callable[[], object], repeats: int = 3) -> float:
    """Best of a few, in seconds of the processor: on a shared machine the wall clock times its neighbours too."""
    best = np.inf
    for _ in range(repeats):
        start = time.process_time()
        what()
        best = min(best, time.process_time() - start)
    return float(best)


def show(name: str, seconds: float, goal: float | None = None) -> None:
    """One line."""
    aim = "" if goal is None else f"   goal {goal:g} s {'met' if seconds <= goal else 'NOT met'}"
    print(f"{name:58s} {seconds:9.4f} s{aim}")


def whole_process(repeats: int = 5) -> None:
    """``leadoff now`` as a person calls it, on the board of the tour with most runs: start, book, fit, answer.

    Wall clock and the child's processor seconds, the best of a few; compiled modules are kept as on any machine
    where the tool is installed. Any other answer, such as the list of an evening, has 2 s.
    """
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    with tempfile.TemporaryDirectory() as folder:
        env["PYTHONPYCACHEPREFIX"] = f"{folder}/compiled"
        env["PYTHONPATH"] = str(Path(__file__).parents[1] / "src")
        leadoff = [sys.executable, "-m", "leadoff"]
        subprocess.run(
            [*leadoff, "tour", "--dir", f"{folder}/tour"], env=env, check=True, capture_output=True
        )
        tour, shelf = f"{folder}/tour/tour.db", f"{folder}/shelf.db"
        here = Path(folder)
        board = write_shelf(Session(book=shelf, at=None, config=here / "pen", cache=here / "cache"))
        evening = ["--minutes", "150"]
        for name, words, goal in (
            ("leadoff now, whole process", ["now", "reading-486", "--book", tour], 1.5),
            (
                "leadoff now --minutes 150, whole process",
                ["now", "reading-486", *evening, "--book", tour],
                2.0,
            ),
            ("the same beside 37 boards, 400 runs", ["now", board, *evening, "--book", shelf], 2.0),
            ("leadoff now there", ["now", board, "--book", shelf], 1.5),
            ("leadoff forecast there", ["forecast", board, "--no-seal", "--book", shelf], 2.0),
            ("leadoff swap there", ["swap", board, "l2 512k", "--book", shelf], 2.0),
            ("leadoff standings there", ["standings", "--book", shelf], 2.0),
            ("leadoff board list there", ["board", "list", "--book", shelf], 2.0),
        ):
            call = [*leadoff, *words]
            walls, spent = [], []
            for _ in range(repeats + 1):
                before, start = os.times(), time.perf_counter()
                subprocess.run(call, env=env, check=True, capture_output=True)
                after = os.times()
                walls.append(time.perf_counter() - start)
                spent.append(
                    after.children_user
                    + after.children_system
                    - before.children_user
                    - before.children_system
                )
            show(f"{name}, of the processor", min(spent[1:]), goal)
            show(f"{name}, wall clock", min(walls[1:]), goal)


def write_shelf(session: Session) -> str:
    """A book of 38 boards with eleven runs each; the board to ask about."""
    world = World(4711, boards=38, runs=11)
    write_world(session.may_begin(), world)
    return next(b.id for b in world.boards if b.board_class == "486pci")


def main() -> None:
    """Run and print."""
    book: Book = book_of(World(1, boards=40, runs=10, workloads=("w4",)))
    rows = collect(book.workloads, book.runs)
    print(f"{len(rows.data)} states with a score, {len(book.runs)} runs, 40 boards")
    show("reading 400 runs into numbers", timed(lambda: collect(book.workloads, book.runs)))
    show("whole fit", timed(lambda: fit(rows)), 1.0)
    made = fit(rows)
    board = book.world.boards[2].id
    workload = next(w for w in book.workloads if w.name == "w4")
    states = list(book.world.untried(board, 2, changes=(1, 3)))
    asks = [Ask(workload, book.setup(board, s)) for s in states]
    show("one board refitted, two states told", timed(lambda: tell(made, asks, board)), 0.1)
    ranker = Ranker(made, workload, asks[0].setup)
    few = []
    for s in book.world.reachable(board, 400):
        few.append(book.setup(board, s))
    small = table_of(workload, few)
    table = {n: np.tile(v, 200_000 // len(few) + 1)[:200_000] for n, v in small.items()}
    chance = np.linspace(0.2, 0.97, 200_000)
    minutes = np.linspace(4.0, 20.0, 200_000)
    show(
        "200,000 candidate states ranked",
        timed(lambda: best_first(ranker.log_times(table), chance, minutes, 0.0)),
        0.1,
    )
    whole_process()
    one: Book = book_of(World(3, boards=1, runs=8, classes=("486vlb",), workloads=("w4",), unknown=0.0))
    small_fit = fit(collect(one.workloads, one.runs))
    own = one.world.boards[0].id
    small_asks = [Ask(workload, one.setup(own, s)) for s in one.world.untried(own, 2)]
    told = tell(small_fit, small_asks, own)
    ours = timed(lambda: tell(fit(collect(one.workloads, one.runs)), small_asks, own))
    show("one board, 8 runs: everything", ours)
    places = places_of(small_fit, told, "w4")
    drawn_s = timed(lambda: sample(told, places, kind_of(workload)), 1)
    show(f"own sampler, 4,000 effective draws ({drawn_s / ours:.0f} x)", drawn_s)
    if find_spec("emcee"):
        emcee: Any = import_module("emcee")
        size = told.hessian.shape[1]
        target = Target(told, places, kind_of(workload))

        def density(u: Any) -> Any:
            return np.nan_to_num(target.log_mixed(u, np.full(len(u), 0.25)), nan=-np.inf)

        start = 0.1 * np.random.default_rng(0).standard_normal((2 * size, size))
        chain = emcee.EnsembleSampler(2 * size, size, density, vectorize=True)
        general = timed(lambda: chain.run_mcmc(start, 500), 1)
        show(f"general ensemble sampler, {2 * size} walkers x 500 ({general / ours:.0f} x)", general)
    else:
        print("general ensemble sampler: not installed")
    if find_spec("bayes_opt"):
        _library(made.rows.data[:40])
    else:
        print("Bayesian-optimisation library: not installed")


def _library(data: Any) -> None:
    """The library's next suggestion after 40 runs, on clocks and costs in a box: no moves, no chances, no classes."""
    bayes: Any = import_module("bayes_opt")
    box = {"core": (25.0, 500.0), "bus": (20.0, 134.0), "lead": (2.0, 8.0), "rest": (1.0, 4.0)}
    optimizer = bayes.BayesianOptimization(
        f=None, pbounds=box, random_state=1, verbose=0, allow_duplicate_points=True
    )
    rng = np.random.default_rng(0)
    for d in data:
        point = {
            "core": d.setup.clock("core_mhz") or 25.0,
            "bus": d.setup.clock("bus_mhz") or 20.0,
            "lead": float(rng.uniform(2, 8)),
            "rest": float(rng.uniform(1, 4)),
        }
        optimizer.register(params=point, target=-d.mid)
    show("Bayesian-optimisation library: one suggestion, 40 runs", timed(optimizer.suggest, 1))


if __name__ == "__main__":
    main()
