"""Where priors of the score model come from: their spread over books of another physics.

    python validation/calibrate.py [BOOKS] [--boards N] [--runs N] [--seed N]

Books of many boards from ``variant.py`` are fitted jointly. For every kind of parameter the table shows how much
the runs say of it (``told``: 1 is everything), by how many prior deviations its centre should move, and how wide it
should be over how wide it is: by the posterior's second moment (``wide``, which stays near 1 where the runs say
nothing) and by the modes alone over what was told (``modes``, rougher). Values in ``priors.toml`` were rounded
towards these where ``told`` is above a third; the rest is judgement. Nothing that is judged (docs/validation.md) has
these seeds or this physics.
"""

from __future__ import annotations

import argparse
from collections import defaultdict

import numpy as np
from books import book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray
from variant import TEMPLATES, variant  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import noise
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.likelihood import with_outliers
from leadoff.forecast.priors import priors
from leadoff.forecast.solve import evaluate, spread
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]
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


def table(books: int, boards: int, runs: int, seed: int) -> dict[str, list[tuple[float, float]]]:
    """Modes and variances in prior deviations by kind of parameter, over all books."""
    out: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for k in range(books):
        with variant(seed + k):
            world = World(seed + k, boards=boards, runs=runs, classes=CLASSES, workloads=TEMPLATES)
            book = book_of(world)
        made = fit(collect(book.workloads, book.runs))
        z, var, g = posterior(made)
        print(f"book {k}: {len(made.rows.data)} states with a score, misfit scale {g:g}")
        for name, i in made.layout.index.items():
            out[f"{name[0]}.{name[1]}"].append((float(z[i]), float(var[i])))
    return out


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
        rows = np.array(found.get(f"{p.level}.{p.name}", []))
        if not len(rows) or p.name == "level":
            continue
        told = max(float(np.mean(1.0 - rows[:, 1])), 1e-9)
        shift = float(rows[:, 0].mean()) / told
        wide = float(np.sqrt(np.mean(rows[:, 0] ** 2 + rows[:, 1])))
        modes = float(np.sqrt(np.mean(rows[:, 0] ** 2) / told))
        print(f"{p.level}.{p.name:14s} {len(rows):7d} {told:5.2f} {shift:+9.2f} {wide:6.2f} {modes:6.2f}")


if __name__ == "__main__":
    main()
