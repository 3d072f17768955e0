"""Do the bands hold? Next-state coverage on generated books, beside two clocks and a Gaussian process.

    python validation/forecast_books.py BOARDS RUNS BOOKS [--seed N] [--physics plain|other|variant] [--workload W]
                                        [--gp]

Two untried states are held out per board, declared as a book would have them (a setting that nobody knows stays
unknown unless it is what changes); one fit a book. Coverage by randomised probability transform, so that the
rounding of a printed score is exact; the standard error is that between books. Widths are percent of score.
``--physics variant`` is what priors and spreads were set on (``variant.py``), never what they are judged on.
"""

from __future__ import annotations

import time
import warnings
from contextlib import nullcontext
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any

import numpy as np
from books import Book, arguments, book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray
from variant import TEMPLATES, variant  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import scale
from leadoff.forecast.core_ratio import log_core_ratio
from leadoff.forecast.facts import Question, Setup
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.geometry import demand
from leadoff.forecast.joint import Ask, mixture, tell
from leadoff.forecast.mixture import Mixture
from leadoff.forecast.two_clock import expect
from leadoff.record.runs import Run, Workload
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]
CLASSES = ("386sx", "386dx", "486vlb", "486pci", "socket5", "socket7", "slot1")
METHODS = ("model", "clocks", "gp")


@dataclass
class Score:
    """Held-out results of one method in one book: transform values, widths and errors in log score."""

    u: list[float] = field(default_factory=list)
    w50: list[float] = field(default_factory=list)
    w90: list[float] = field(default_factory=list)
    error: list[float] = field(default_factory=list)

    def add(self, mix: Mixture, lo: float, hi: float, draw: float) -> None:
        a, b = mix.cdf(lo), mix.cdf(hi)
        self.u.append(a + (b - a) * draw)
        q = mix.quantiles((0.05, 0.25, 0.5, 0.75, 0.95))
        self.w90.append(q[4] - q[0])
        self.w50.append(q[3] - q[1])
        self.error.append(abs(0.5 * (lo + hi) - q[2]))

    def covered(self, level: float) -> float:
        u = np.array(self.u)
        return float(((u > 0.5 - level / 2) & (u < 0.5 + level / 2)).mean())


@dataclass
class Result:
    """One book: scores by method and seconds of the fit."""

    scores: dict[str, Score]
    fit_s: float
    board_class: str


def run_book(
    seed: int,
    boards: int,
    runs: int,
    *,
    physics: str = "plain",
    workload: str = "w4",
    methods: tuple[str, ...] = ("model", "clocks"),
    classes: tuple[str, ...] | None = None,
) -> Result:
    """Forecast two untried states of every board of one generated book by each method."""
    if classes is None:
        classes = (CLASSES[seed % len(CLASSES)],) if boards == 1 else None
    other = physics == "variant"
    if other:
        workload = TEMPLATES[seed // len(CLASSES) % len(TEMPLATES)]
    with variant(seed) if other else nullcontext():
        world = World(
            seed,
            boards=boards,
            runs=runs,
            classes=classes,
            workloads=(workload,),
            physics="plain" if other else physics,
        )
        held = {b.id: held_out(world, b.id, workload) for b in world.boards}
    book: Book = book_of(world)
    asked: Workload = next(w for w in book.workloads if w.name == workload)
    rng = np.random.default_rng(seed)
    scores = {m: Score() for m in methods}
    start = time.perf_counter()
    made = fit(collect(book.workloads, book.runs))
    fit_s = time.perf_counter() - start
    gp = _Process(made) if "gp" in methods and len(made.rows.data) > 2 else None
    for sheet in world.boards:
        if not held[sheet.id] or not any(d.setup.board == sheet.id for d in made.rows.data):
            continue
        setups = [book.setup(sheet.id, declared) for declared, _ in held[sheet.id]]
        told = tell(made, [Ask(asked, s) for s in setups], sheet.id)
        for k, (setup, (_, run)) in enumerate(zip(setups, held[sheet.id], strict=True)):
            seen = scale.usable(run)
            if not seen:
                continue
            lo, hi = scale.interval(asked, seen[0])
            draw = float(rng.random())
            if "model" in methods:
                scores["model"].add(mixture(told, k), lo, hi, draw)
            if "clocks" in methods:
                scores["clocks"].add(_clocks(asked, setup, book), lo, hi, draw)
            if gp is not None:
                scores["gp"].add(gp.tell(asked, setup), lo, hi, draw)
    return Result(scores, fit_s, world.boards[0].board_class)


def held_out(world: World, board: str, workload: str) -> list[tuple[dict[str, str | None], Run]]:
    """Two untried states as a book would declare them, and the run of each."""
    return [
        (world.declare(board, s), world.measure(board, s, workload, boot=9_000 + k))
        for k, s in enumerate(world.untried(board, 2, changes=(1, 3)))
    ]


def _clocks(workload: Workload, setup: Setup, book: Book) -> Mixture:
    """Two-clock forecast as a normal with its median and spread."""
    e = expect(workload, Question(target=setup, workloads=(workload,), runs=book.runs))
    if e.median is None or e.sd_log is None or e.band90 is None:
        return Mixture(np.ones(1), np.zeros(1), np.full(1, 3.0))
    middle = scale.log_time(workload, e.median)
    width = abs(np.log(e.band90[1] / e.band90[0])) / 3.2897
    return Mixture(np.ones(1), np.full(1, middle), np.full(1, width))


class _Process:
    """A generic Gaussian process: linear and radial kernels on the clocks and costs that the model sees, a board
    effect, hyperparameters by maximum likelihood (a machine-learning library's own optimiser)."""

    def __init__(self, made: Fit) -> None:
        kernels: Any = import_module("sklearn.gaussian_process.kernels")
        process: Any = import_module("sklearn.gaussian_process")
        self.boards = sorted({d.setup.board for d in made.rows.data})
        rows = np.array([self._row(made.rows.workloads[d.workload], d.setup) for d in made.rows.data])
        self.mean, self.sd = rows.mean(axis=0), np.maximum(rows.std(axis=0), 1e-3)
        y = np.array([d.mid for d in made.rows.data])
        self.y0 = float(y.mean())
        k = kernels
        kernel = (
            k.ConstantKernel(1.0, (1e-3, 1e3)) * k.DotProduct(1.0, (1e-2, 1e2))
            + k.ConstantKernel(0.1, (1e-5, 1e2)) * k.RBF(3.0, (0.3, 30.0))
            + k.WhiteKernel(1e-4, (1e-7, 1e-1))
        )
        self.model = process.GaussianProcessRegressor(kernel, n_restarts_optimizer=1, random_state=0)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            self.model.fit((rows - self.mean) / self.sd, y - self.y0)

    def _row(self, workload: Workload, setup: Setup) -> list[float]:
        d = demand(workload, setup)
        told = [
            np.log(d.f_core), np.log(d.f_bus), log_core_ratio(setup), d.halvings, d.outer, d.logit_miss, d.hit_lead,
            d.hit_rest, d.mem_lead, d.mem_rest, d.store, d.wb, d.video, d.inner,
        ]  # fmt: skip
        return [float(v) for v in told] + [float(setup.board == b) for b in self.boards]

    def tell(self, workload: Workload, setup: Setup) -> Mixture:
        row = (np.array([self._row(workload, setup)]) - self.mean) / self.sd
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            mean, sd = self.model.predict(row, return_std=True)
        return Mixture(np.ones(1), mean + self.y0, np.maximum(sd, 1e-4))


def summary(results: list[Result], method: str) -> str:
    """One line of figures; the standard error is that between books."""
    books = [r.scores[method] for r in results if r.scores[method].u]
    each = np.array([s.covered(0.9) for s in books])
    n = np.array([len(s.u) for s in books])
    cover = float(np.average(each, weights=n))
    error = float(np.sqrt(np.average((each - cover) ** 2, weights=n) / len(each)))
    half = float(np.average([s.covered(0.5) for s in books], weights=n))

    def median(name: str) -> float:
        return 100.0 * float(np.median(np.concatenate([getattr(s, name) for s in books])))

    return (
        f"{method:7s} n {n.sum():5d}  50 %: {half:.3f}  90 %: {cover:.3f} +- {error:.3f}  "
        f"w50 {median('w50'):.2f}  w90 {median('w90'):.2f}  median error {median('error'):.2f}"
    )


def rescaled(results: list[Result], method: str) -> float:
    """Median width of the 90 % band after stretching it, in hindsight, to hold 90 % of its own test set."""
    u = np.concatenate([r.scores[method].u for r in results if r.scores[method].u])
    w = np.concatenate([r.scores[method].w90 for r in results if r.scores[method].u])
    from leadoff.forecast.normal import quantile

    z = np.abs([quantile(min(max(v, 1e-9), 1.0 - 1e-9)) for v in u])
    return 100.0 * float(np.median(w)) * float(np.quantile(z, 0.9)) / 1.6449


def main() -> None:
    """Command line."""
    parser = arguments(__doc__, 100_000)
    parser.add_argument("--gp", action="store_true")
    parser.add_argument("--workload", default="w4", help="of the generator, w1 to w6")
    given = parser.parse_args()
    methods = METHODS if given.gp else METHODS[:2]
    results = []
    for k in range(given.books):
        results.append(
            run_book(
                given.seed + k,
                given.boards,
                given.runs,
                physics=given.physics,
                workload=given.workload,
                methods=methods,
            )
        )
    print(
        f"{given.boards} x {given.runs}, {given.books} books, physics {given.physics}, seeds from {given.seed}"
    )
    for method in methods:
        print(summary(results, method), f" w90 at exactly 90 %: {rescaled(results, method):.2f}")
    if given.boards == 1:
        for name in CLASSES:
            mine = [r for r in results if r.board_class == name]
            if mine:
                print(f"  {name:8s}", summary(mine, "model"))
    print(f"mean fit {np.mean([r.fit_s for r in results]):.2f} s")


if __name__ == "__main__":
    main()
