"""Where priors of the score model come from: their spread over books of another physics.

    python validation/calibrate.py [BOOKS] [--boards N] [--runs N] [--seed N]

Books of many boards from ``variant.py`` are fitted jointly. For every kind of parameter the table shows how much
the runs say of it (``told``: 1 is everything), by how many prior deviations its centre should move, and how wide it
should be over how wide it is: by the posterior's second moment (``wide``, which stays near 1 where the runs say
nothing) and by the modes alone over what was told (``modes``, rougher). A second table has a workload's own
parameters by kind of work: centre and width (with the file's factor in it) that make what the runs say likeliest,
each workload's mode and spread taken for a normal of its own. Values in ``priors.toml`` were rounded
towards these where ``told`` is above a third; the rest is judgement. Nothing that is judged (docs/validation.md) has
these seeds or this physics.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from books import book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray
from variant import TEMPLATES, variant  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import noise
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.kinds import MIXED, kind_of, kinds
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.priors import prior, priors
from leadoff.forecast.solve import evaluate, spread
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]
TOGETHER = 5
CLASSES = ("386sx", "386dx", "486vlb", "486pci", "socket5", "socket7", "slot1")


def posterior(made: Fit) -> tuple[Arr, Arr, float]:
    """Mode and variances of all parameters at the likeliest misfit scale, and that scale."""
    scales, log_prior = noise.grid()
    best = int(np.argmax(np.array([m.log_evidence for m in made.modes]) + log_prior))
    z, g = made.modes[best].z, float(scales[best])
    mu, columns, misfit = evaluate(made.problem, z[None])
    sd = np.sqrt(made.problem.noise_var + g * g * misfit[0])
    row = noise.outlier()
    curve = with_outliers(mu[0], made.problem.lo, made.problem.hi, sd, row["share"], row["sd"])[2]
    jac = spread(made.problem, columns, len(z))[0]
    cov = np.linalg.inv(np.eye(len(z)) + jac.T @ (curve[:, None] * jac))
    return z, np.diag(cov), g


class Found(NamedTuple):
    """One parameter in one book: its mode and variance in prior deviations, and its workload's kind of work."""

    mode: float
    var: float
    kind: str


def table(books: int, boards: int, runs: int, seed: int) -> dict[str, list[Found]]:
    """Every parameter of every book by name. The templates take turns, so many of them a book."""
    out: dict[str, list[Found]] = defaultdict(list)
    for k in range(books):
        names = tuple(TEMPLATES[(TOGETHER * k + i) % len(TEMPLATES)] for i in range(TOGETHER))
        with variant(seed + k):
            world = World(seed + k, boards=boards, runs=runs, classes=CLASSES, workloads=names)
            book = book_of(world)
        made = fit(collect(book.workloads, book.runs))
        z, var, g = posterior(made)
        print(f"book {k}: {len(made.rows.data)} states with a score, misfit scale {g:g}", flush=True)
        for name, i in made.layout.index.items():
            kind = kind_of(made.rows.workloads[name[2]]) if name[0] == "w" else MIXED
            out[f"{name[0]}.{name[1]}"].append(Found(float(z[i]), float(var[i]), kind))
    return out


class Seen(NamedTuple):
    """What the runs of one book say of a workload's parameter, its prior taken out: centre and variance in logs, and
    the share of the prior's variance that they take away."""

    centre: float
    var: float
    told: float


def seen(found: Found, name: str) -> Seen:
    """From a mode and its variance, as if the parameter were alone."""
    before, told = prior("w", name, found.kind), max(1.0 - found.var, 1e-4)
    return Seen(before.centre + before.sd * found.mode / told, before.sd**2 * (1.0 - told) / told, told)


def likeliest(mine: Sequence[Seen]) -> tuple[float, float]:
    """Centre in logs and spread over workloads that make what the runs say of them likeliest."""
    at, noise_var = np.array([s.centre for s in mine]), np.array([s.var for s in mine])
    best = (-np.inf, 0.0, 0.0)
    for sd in np.exp(np.linspace(np.log(0.02), np.log(4.0), 200)):
        var = sd**2 + noise_var
        centre = float((at / var).sum() / (1.0 / var).sum())
        best = max(best, (float(-0.5 * (np.log(var) + (at - centre) ** 2 / var).sum()), centre, float(sd)))
    return best[1:]


def by_kind(found: Mapping[str, Sequence[Found]]) -> None:
    """A workload's own parameters by kind of work; spreads with the file's factor of the level in them."""
    print("parameter    kind          count  told    centre     sd   now: centre     sd")
    for name in (p.name for p in priors() if p.level == "w" and p.name != "level"):
        for kind in (*kinds(), MIXED):
            mine = [seen(f, name) for f in found[f"w.{name}"] if kind in (f.kind, MIXED)]
            if len(mine) < 3:
                continue
            centre, sd = likeliest(mine)
            before, told = prior("w", name, kind), float(np.mean([s.told for s in mine]))
            print(
                f"w.{name:10s} {kind:12s} {len(mine):6d} {told:5.2f} {np.exp(centre):9.4g} {sd:6.2f}"
                f" {np.exp(before.centre):13.4g} {before.sd:6.2f}"
            )


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("books", type=int, nargs="?", default=4)
    parser.add_argument("--boards", type=int, default=20)
    parser.add_argument("--runs", type=int, default=20)
    parser.add_argument("--seed", type=int, default=870_000)
    given = parser.parse_args()
    found = table(given.books, given.boards, given.runs, given.seed)
    print("parameter          count  told  centre by  wide  modes")
    for p in priors():
        rows = np.array([f[:2] for f in found.get(f"{p.level}.{p.name}", [])])
        if not len(rows) or p.name == "level":
            continue
        told = max(float(np.mean(1.0 - rows[:, 1])), 1e-9)
        shift = float(rows[:, 0].mean()) / told
        wide = float(np.sqrt(np.mean(rows[:, 0] ** 2 + rows[:, 1])))
        modes = float(np.sqrt(np.mean(rows[:, 0] ** 2) / told))
        print(f"{p.level}.{p.name:14s} {len(rows):7d} {told:5.2f} {shift:+9.2f} {wide:6.2f} {modes:6.2f}")
    by_kind(found)


if __name__ == "__main__":
    main()
