"""How narrow could a band be? The generator's own physics with unknown parameters, conditioned on the same runs.

    python validation/bound.py RUNS BOOKS [--seed N]

The oracle knows every formula of the generator, the class of board, every setting rightly and the noise. It does not
know the workload (drawn around all rows of the generator as ``variant.py`` draws them, with the mix given), the
registers of the chipset (those of the class, equally likely), the board's cache curve, nor the level. Importance
weights by the intervals of the printed scores, the level integrated out; books where fewer than ``LEAST`` effective
draws are left are counted and not used. The forecast is shown beside it, on the same books.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np
from books import Book, book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray
from variant import invented  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import scale
from leadoff.forecast.fit import collect, fit
from leadoff.forecast.joint import Ask, mixture, tell
from leadoff.forecast.normal import ndtr
from leadoff.validation.columns import columns
from leadoff.validation.demand import Mill
from leadoff.validation.hidden import CURVE_SD
from leadoff.validation.rows import rows
from leadoff.validation.score import parts, seconds
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]
CLASSES = ("386sx", "386dx", "486vlb", "486pci", "socket5", "socket7", "slot1")
DRAWS, BOARDS, LEAST = 2500, 24, 40
NOISE = 0.0033  # a run, its boot and its evening, as the generator has them


def times(world: World, board: str, states: list[dict[str, str]], seed: int) -> Arr:
    """Log times (draws, states) under the oracle's prior, up to a level."""
    rng = np.random.default_rng((seed, 9))
    table = list(rows().workloads.values())
    asked = rows().workloads["w4"]
    drawn = []
    for k in range(DRAWS):
        made = invented(table[k % len(table)], rng)
        drawn.append(
            replace(made, name=f"d{k}", mix=asked.mix, form=asked.form, int_hz=asked.int_hz, ems=asked.ems)
        )
    mill = Mill(tuple(drawn))
    bench = world._bench
    true = bench.boards[board]
    full = [bench.full(board, s) for s in states]
    out = []
    for k in range(BOARDS):
        chips = true.cls.chipsets
        other = replace(
            true,
            chipset=chips[k % len(chips)],
            efficiency=0.0,
            curve={kb: float(CURVE_SD * rng.standard_normal()) for kb in true.curve},
            quirk={w.name: 0.0 for w in drawn},
        )
        found = parts(other, columns(other, full), mill)
        out.append(np.log(seconds(other, found, mill)).T)
    return np.concatenate(out)


def oracle(made: Arr, lo: Arr, hi: Arr) -> tuple[Arr, float]:
    """Widths of the 90 % bands of the states behind the runs, and how many effective draws are left."""
    n = len(lo)
    spread = np.sqrt(NOISE**2 / n + ((hi - lo) ** 2).mean() / 12.0)
    left = 0.5 * (lo + hi) - made[:, :n]
    # First without the noise grid, to leave out draws that cannot matter.
    rough = left.std(axis=1)
    keep = np.argsort(rough)[: min(len(rough), 12_000)]
    level = left[keep].mean(axis=1)[:, None] + 1.2 * spread * np.linspace(-3.0, 3.0, 25)
    logs = np.zeros_like(level)
    for i in range(n):
        at = made[keep, i][:, None] + level
        logs += np.log(np.maximum(ndtr((hi[i] - at) / NOISE) - ndtr((lo[i] - at) / NOISE), 1e-300))
    weight = np.exp(logs - logs.max())
    by_draw = weight.sum(axis=1)
    effective = float(by_draw.sum() ** 2 / (by_draw**2).sum())
    out = []
    rng = np.random.default_rng(0)
    for k in range(n, made.shape[1]):
        value = made[keep, k][:, None] + level + NOISE * rng.standard_normal(level.shape)
        order = np.argsort(value, axis=None)
        cum = np.cumsum(weight.ravel()[order])
        a, b = np.searchsorted(cum, np.array([0.05, 0.95]) * cum[-1])
        out.append(value.ravel()[order][b] - value.ravel()[order][a])
    return np.array(out), effective


def compare(seed: int, runs: int) -> tuple[str, Arr, Arr, float] | None:
    """Class, the oracle's widths, the forecast's, and effective draws, for one board's book."""
    kind = CLASSES[seed % len(CLASSES)]
    world = World(seed, boards=1, runs=runs, classes=(kind,), workloads=("w4",), unknown=0.0, wrong=0.0)
    book: Book = book_of(world)
    board, workload = world.boards[0].id, book.workloads[0]
    asks = world.untried(board, 2, changes=(1, 3))
    made = collect(book.workloads, book.runs)
    true = {x.number: dict(x.true) for x in world.log}
    seen = [o for o in book.runs if scale.usable(o.run)]
    if not asks or not made.data:
        return None
    ends = np.array([scale.interval(workload, scale.usable(o.run)[0]) for o in seen])
    drawn = times(world, board, [*(true[o.run.number] for o in seen), *asks], seed)
    widths, effective = oracle(drawn, ends[:, 0], ends[:, 1])
    told = tell(fit(made), [Ask(workload, book.setup(board, s)) for s in asks], board)
    ours = []
    for k in range(len(asks)):
        lo, hi = mixture(told, k).quantiles((0.05, 0.95))
        ours.append(hi - lo)
    return kind, widths, np.array(ours), effective


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("runs", type=int)
    parser.add_argument("books", type=int)
    parser.add_argument("--seed", type=int, default=600_000)
    given = parser.parse_args()
    found = [x for k in range(given.books) if (x := compare(given.seed + k, given.runs)) is not None]
    kept = [x for x in found if x[3] >= LEAST]
    print(
        f"1 x {given.runs}: {len(found)} books, {len(found) - len(kept)} with fewer than {LEAST} effective draws"
    )
    for kind in ("all", *CLASSES):
        mine = [x for x in kept if kind in ("all", x[0])]
        if mine:
            a, b = (100.0 * float(np.median(np.concatenate([x[i] for x in mine]))) for i in (1, 2))
            print(f"  {kind:8s} books {len(mine):3d}  oracle w90 {a:5.2f}  forecast w90 {b:5.2f}")


if __name__ == "__main__":
    main()
