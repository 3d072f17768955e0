"""What is a read sweep worth? Bands on generated books with and without a sweep of each board.

    python validation/sweep_books.py BOARDS RUNS BOOKS [--seed N] [--physics plain|other] [--bare]

Each board is swept once in the state that it was last seen to hold: points at the usual sizes, 3 % of noise, from
the generator's own clocks of a line (lead-off, later beats, row of the memory, waiting for the bus) and the time of a
loop that it knows nothing of, part of which hides behind the fill. The points go through the sweep reader and the
rule that says whether a reading may be used, like those of a user. Untried states are held out as in
``forecast_books.py`` and told twice, with the same draws of the transform. ``--bare``: boards of one class, and the
last of each book has its sweep alone and no run; only its states are asked.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field

import numpy as np
from books import Book, book_of  # type: ignore[import-not-found,unused-ignore]
from forecast_books import CLASSES, Score, held_out  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import scale
from leadoff.forecast.facts import Observed
from leadoff.forecast.fit import collect, fit
from leadoff.forecast.joint import Ask, mixture, tell
from leadoff.forecast.sweeps import sweep_data
from leadoff.loop.swept import bounds, usable_because
from leadoff.loop.swept import declared as sheet_says
from leadoff.memory.sweep import Point, Sweep, SweepKind, compare_sweep, read_sweep
from leadoff.record.runs import Outcome, Run
from leadoff.validation.columns import columns
from leadoff.validation.worlds import World

WORKLOAD = "w4"
NOISE = 0.03
SIZES_KB = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048, 4096)
LOOP_CLOCKS = (1.5, 4.5)
"""Core clocks of the loop for each four bytes, drawn for each board: invented."""
READ_PATTERNS = ("l2_read", "l2_read_ws", "dram_read", "dram_read_ws")
OPEN = 1 / 64
"""Share of a read in order that opens another page of memory: 1 KB of 64 lines; common practice, no source."""


@dataclass
class Both:
    """Results of one book without and with sweeps, and log scores of each held-out run."""

    plain: Score = field(default_factory=Score)
    swept: Score = field(default_factory=Score)
    gain: list[float] = field(default_factory=list)
    narrowed: list[float] = field(default_factory=list)
    open_pattern: list[bool] = field(default_factory=list)
    inside: list[bool] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


def sweep_of(book: Book, board: str, rng: np.random.Generator, out: Both) -> Observed | None:
    """A sweep of a board in the state it holds, read as a user's would be; ``None`` where it may not be used."""
    world = book.world
    state = world.held(board)
    bench = world._bench  # the generator's truth, which no book shows
    c = columns(bench.boards[board], [bench.full(board, state)])
    chip = bench.boards[board].chipset
    v = {k: float(c.values[k][0, 0]) for k in c.values}
    bus = v["fb"]
    loop = float(rng.uniform(*LOOP_CLOCKS)) * v["line"] / 4 * bus / v["fc"]
    wait = (v["edges"] - 1.0) / (2.0 * v["edges"])
    rows = chip.closed * v["rcd"] + (1.0 - chip.closed) * OPEN * (v["rcd"] + v["rp"])
    memory = v["d_lead"] + v["d_tail"] + rows + (chip.look if v["l2_kb"] and v["f_l2"] == bus else 0.0)
    fills = [(v["l2_lead"] + v["l2_tail"]) * bus / v["f_l2"] + wait] if v["l2_kb"] else []
    fills.append(memory * bus / v["f_mem"] + wait)
    sizes = [k for k in (v["l1_kb"], v["l2_kb"]) if k]
    if not v["l1_kb"]:
        out.refused.append("no first level at work")
        return None
    hides = float(rng.uniform(0.0, 1.0))
    raw = [loop, *(loop + f - hides * min(loop, 0.5 * f) for f in fills)]
    points = []
    for kb in SIZES_KB:
        clocks = raw[0]
        for k, size in enumerate(sizes):
            ways = 4 if k == 0 else 1
            missing = 0.0 if kb <= size else min(1.0, (ways + 1) * (kb - size) / kb)
            clocks += (raw[k + 1] - raw[k]) * missing
        us = clocks / bus * 1024 / v["line"]
        points.append(Point(size_kb=kb, us_per_kb=us * float(np.exp(NOISE * rng.normal()))))
    setup = book.setup(board, world.declare(board, state))
    known_bus = setup.clock("bus_mhz")
    reading = read_sweep(
        Sweep(kind=SweepKind.READ, points=tuple(points)), bus_mhz=known_bus, line_bytes=int(v["line"])
    )
    found = bounds(reading, setup)
    if found is None:
        why = usable_because(reading, setup, compare_sweep(reading, sheet_says(setup)))
        out.refused.append(why.split(":")[0].split(",")[0] or "no bounds")
        return None
    for held, truth in ((found.cache, fills[0]), (found.memory, fills[-1])):
        if held is not None:
            out.inside.append(held[0] <= truth <= held[1])
    run = Run(number=f"s-{board}", board=board, workload=None, outcome=Outcome.FINISHES)
    seen = Observed(run=run, setup=setup, when="2099-01-01T12:00", fills=found)
    return seen if sweep_data([seen]) else None


def run_book(seed: int, boards: int, runs: int, *, physics: str, bare: bool) -> Both:
    """Two untried states of every board, without and with a sweep of each."""
    classes = (CLASSES[seed % len(CLASSES)],) if boards == 1 or bare else None
    world = World(seed, boards=boards, runs=runs, classes=classes, workloads=(WORKLOAD,), physics=physics)
    held = {b.id: held_out(world, b.id, WORKLOAD) for b in world.boards}
    book: Book = book_of(world)
    asked = next(w for w in book.workloads if w.name == WORKLOAD)
    out, rng = Both(), np.random.default_rng(seed)
    boards_asked = [world.boards[-1].id] if bare else [b.id for b in world.boards]
    seen = tuple(o for o in book.runs if not (bare and o.run.board == boards_asked[0]))
    sweeps = {b.id: s for b in world.boards if (s := sweep_of(book, b.id, rng, out)) is not None}
    before = fit(collect(book.workloads, seen))
    after = fit(collect(book.workloads, (*seen, *sweeps.values())))
    for board in boards_asked:
        if board not in sweeps or not held[board]:
            continue
        if not bare and not any(d.setup.board == board for d in before.rows.data):
            continue
        setups = [book.setup(board, said) for said, _ in held[board]]
        names = [n for n in READ_PATTERNS if n in world.held(board)]
        asks = [Ask(asked, s) for s in setups]
        told = [tell(made, asks, board) for made in (before, after)]
        for k, (_, run) in enumerate(held[board]):
            readings = scale.usable(run)
            if not readings:
                continue
            lo, hi = scale.interval(asked, readings[0])
            draw = float(rng.random())
            logs = []
            for t, score in zip(told, (out.plain, out.swept), strict=True):
                mix = mixture(t, k)
                score.add(mix, lo, hi, draw)
                logs.append(float(np.log(max(mix.cdf(hi) - mix.cdf(lo), 1e-12))))
            out.gain.append(logs[1] - logs[0])
            out.narrowed.append(out.swept.w90[-1] / out.plain.w90[-1])
            out.open_pattern.append(any(setups[k].state.value(p) is None for p in names))
    return out


def line(results: list[Both], name: str) -> str:
    """Cover with the standard error between books, widths in percent, error of the middle."""
    scores = [getattr(r, name) for r in results if getattr(r, name).u]
    n = np.array([len(s.u) for s in scores])
    each = np.array([s.covered(0.9) for s in scores])
    cover = float(np.average(each, weights=n))
    error = float(np.sqrt(np.average((each - cover) ** 2, weights=n) / len(each)))
    half = float(np.average([s.covered(0.5) for s in scores], weights=n))
    w, e = (np.concatenate([getattr(s, k) for s in scores]) for k in ("w90", "error"))
    return (
        f"{name:6s} n {n.sum():4d}  50 %: {half:.3f}  90 %: {cover:.3f} +- {error:.3f}  "
        f"w90 median {100 * np.median(w):.2f} mean {100 * w.mean():.2f}  median error {100 * np.median(e):.2f}"
    )


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("boards", type=int)
    parser.add_argument("runs", type=int)
    parser.add_argument("books", type=int)
    parser.add_argument("--seed", type=int, default=100_000)
    parser.add_argument("--physics", default="plain")
    parser.add_argument("--bare", action="store_true")
    given = parser.parse_args()
    results, classes = [], []
    for k in range(given.books):
        seed = given.seed + k
        results.append(run_book(seed, given.boards, given.runs, physics=given.physics, bare=given.bare))
        classes.append(CLASSES[seed % len(CLASSES)])
    where = ", the last board without a run" if given.bare else ""
    print(
        f"{given.boards} x {given.runs}{where}, {given.books} books, {given.physics}, seeds from {given.seed}"
    )
    for name in ("plain", "swept"):
        print(line(results, name))
    gain, ratio = (np.concatenate([getattr(r, k) for r in results]) for k in ("gain", "narrowed"))
    inside = [x for r in results for x in r.inside]
    error = gain.std() / np.sqrt(len(gain))
    print(
        f"log score gained {gain.mean():+.3f} +- {error:.3f} a state; width with / without: "
        f"median {np.median(ratio):.3f}, least {ratio.min():.2f}, most {ratio.max():.2f}"
    )
    print(f"true clocks inside the bounds read: {sum(inside)} of {len(inside)}")
    refused = [x for r in results for x in r.refused]
    for why in sorted(set(refused)):
        print(f"  not used: {refused.count(why)} x {why}")
    mask = np.concatenate([r.open_pattern for r in results]).astype(bool)
    if mask.any():
        u = [np.concatenate([getattr(r, n).u for r in results])[mask] for n in ("plain", "swept")]
        cover = [float((np.abs(x - 0.5) < 0.45).mean()) for x in u]
        print(
            f"of these {mask.sum()} with a read pattern that nobody knows: width with / without median "
            f"{np.median(ratio[mask]):.3f}, 90 % band holds {cover[0]:.3f} without, {cover[1]:.3f} with, "
            f"log score {gain[mask].mean():+.3f} +- {gain[mask].std() / np.sqrt(mask.sum()):.3f}"
        )
    if given.boards == 1 or given.bare:
        for name in CLASSES:
            mine = [x for r, c in zip(results, classes, strict=True) if c == name for x in r.narrowed]
            if mine:
                print(f"  {name:8s} states {len(mine)}, width with / without: median {np.median(mine):.3f}")


if __name__ == "__main__":
    main()
