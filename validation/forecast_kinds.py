"""Where is the width, and are the errors there too? Held-out states by what changed and by class of board.

    python validation/forecast_kinds.py BOARDS RUNS BOOKS [--seed N] [--physics plain|other|variant] [--finer N]

A state's kinds are the settings that differ from the nearest run of its board (the fewest differences as declared);
``alone`` counts states where nothing else changed. Cover and widths are against the unrounded score, the standardised
error is the normal deviate of the forecast's distribution at it. ``--finer``: every score, of runs and of held-out
states, is printed so many times finer than its workload prints it: what a printed digit costs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any

import numpy as np
from books import Book, arguments, book_of  # type: ignore[import-not-found,unused-ignore]
from forecast_books import CLASSES, held_out  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray
from variant import TEMPLATES, variant  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import scale
from leadoff.forecast.fit import Fit, collect, fit
from leadoff.forecast.joint import Ask, Told, mixture, tell
from leadoff.forecast.mixture import Mixture
from leadoff.forecast.normal import quantile
from leadoff.validation.rows import WorkloadRow
from leadoff.validation.worlds import UNKNOWN_SHARE, WRONG_SHARE, World

Arr = NDArray[np.float64]

KINDS: dict[str, tuple[str, ...]] = {
    "second level switched": ("l2",),
    "second level's policy": ("l2_policy",),
    "first level's policy": ("l1_policy",),
    "bus clock": ("bus_mhz",),
    "ratio": ("ratio",),
    "cache read": ("l2_read", "l2_read_ws"),
    "write waits": ("l2_write_ws", "dram_write_ws"),
    "memory read": ("dram_read", "dram_read_ws", "cas", "rcd", "rp"),
    "display": ("vlb_ws", "pci_ratio", "isa_ratio", "write_combine"),
    "resident programs": ("profile",),
    "refresh": ("refresh",),
    "write allocation": ("write_alloc",),
    "nothing that counts": ("core_v",),
}


@dataclass(frozen=True)
class Case:
    """One held-out state: what changed, whether its board ever ran without second level, the forecast, and the score
    as log time before it is rounded."""

    seed: int
    board_class: str
    kinds: frozenset[str]
    off: bool
    seen_off: bool
    mix: Mixture
    true: float

    @property
    def width(self) -> float:
        lo, hi = self.mix.quantiles((0.05, 0.95))
        return 100.0 * (hi - lo)

    @property
    def deviate(self) -> float:
        """Standardised error: the normal deviate of the forecast's distribution at the score."""
        return quantile(min(max(self.mix.cdf(self.true), 1e-9), 1.0 - 1e-9))

    @property
    def log_score(self) -> float:
        return self.mix.log_density(self.true)


@contextmanager
def finer(times: float) -> Iterator[None]:
    """Worlds made inside print every score so many times finer."""
    worlds: Any = import_module("leadoff.validation.worlds")
    was = worlds.workload_rows

    def rows(names: Sequence[str] | None = None) -> tuple[WorkloadRow, ...]:
        return tuple(replace(w, resolution=w.resolution / times) for w in was(names))

    worlds.workload_rows = rows
    try:
        yield
    finally:
        worlds.workload_rows = was


def book(
    seed: int,
    boards: int,
    runs: int,
    *,
    physics: str = "plain",
    workload: str = "w4",
    times: float = 1.0,
    known: bool = False,
) -> tuple[World, Book, str, dict[str, list[tuple[dict[str, str | None], float]]]]:
    """A generated book, its workload, and for each board two untried states with their log times unrounded.
    ``known``: no setting is unknown and no run wrongly declared."""
    classes = (CLASSES[seed % len(CLASSES)],) if boards == 1 else None
    other = physics == "variant"
    if other:
        workload = TEMPLATES[seed // len(CLASSES) % len(TEMPLATES)]
    with variant(seed) if other else nullcontext(), finer(times) if times != 1.0 else nullcontext():
        world = World(
            seed,
            boards=boards,
            runs=runs,
            classes=classes,
            workloads=(workload,),
            physics="plain" if other else physics,
            unknown=0.0 if known else UNKNOWN_SHARE,
            wrong=0.0 if known else WRONG_SHARE,
        )
        made = book_of(world)
        asked = next(w for w in made.workloads if w.name == workload)
        bench = world._bench
        held: dict[str, list[tuple[dict[str, str | None], float]]] = {}
        printed = bench.workloads
        # A workload that cuts digits off prints low by half a digit: its scores are taken as those that round so.
        (low,) = (0.5 * w.resolution * (w.printing == "trunc") for w in printed)
        bench.workloads = tuple(replace(w, resolution=1e-9) for w in printed)
        for sheet in world.boards:
            held[sheet.id] = []
            for declared, run in held_out(world, sheet.id, workload):
                if seen := scale.usable(run):
                    held[sheet.id].append((declared, scale.log_time(asked, seen[0].value - low)))
        bench.workloads = printed
    return world, made, workload, held


def changed(fit_: Fit, board: str, declared: dict[str, str | None]) -> tuple[frozenset[str], bool]:
    """Kinds of change against the nearest run of the board, and whether the board ever ran without second level."""
    best: frozenset[str] | None = None
    seen_off = False
    for d in fit_.rows.data:
        if d.setup.board != board:
            continue
        told = {n: s.value for n, s in d.setup.state.settings.items()}
        seen_off |= told.get("l2") == "off"
        names = frozenset(n for n, v in declared.items() if n != "can_mhz" and told.get(n) != v)
        if best is None or len(names) < len(best):
            best = names
    kinds = {next((k for k, ns in KINDS.items() if n in ns), n) for n in best or ()}
    return frozenset(kinds), seen_off


def cases(
    seed: int,
    boards: int,
    runs: int,
    *,
    physics: str = "plain",
    times: float = 1.0,
    keep: Callable[[Case, Told, int], None] | None = None,
) -> list[Case]:
    """The held-out states of one book. ``keep`` sees each with all that the model says."""
    world, made, workload, held = book(seed, boards, runs, physics=physics, times=times)
    asked = next(w for w in made.workloads if w.name == workload)
    found = fit(collect(made.workloads, made.runs))
    out = []
    for sheet in world.boards:
        if not held[sheet.id] or not any(d.setup.board == sheet.id for d in found.rows.data):
            continue
        told = tell(found, [Ask(asked, made.setup(sheet.id, s)) for s, _ in held[sheet.id]], sheet.id)
        for k, (declared, true) in enumerate(held[sheet.id]):
            kinds, seen_off = changed(found, sheet.id, declared)
            case = Case(
                seed,
                sheet.board_class,
                kinds,
                declared.get("l2") == "off",
                seen_off,
                mixture(told, k),
                true,
            )
            out.append(case)
            if keep is not None:
                keep(case, told, k)
    return out


def line(name: str, mine: list[Case]) -> str:
    """Cover, widths, errors and log density of some states."""
    z = np.array([c.deviate for c in mine])
    w = np.array([c.width for c in mine])
    error = np.array([100.0 * abs(c.mix.quantiles((0.5,))[0] - c.true) for c in mine])
    cover = float((np.abs(z) < 1.6449).mean())
    books = np.array([c.seed for c in mine])
    each = [float((np.abs(z[books == s]) < 1.6449).mean() - cover) * (books == s).mean() for s in set(books)]
    wanted = float(np.quantile(np.abs(z), 0.9)) / 1.6449
    return (
        f"{name:32s} {len(mine):5d}  cover {cover:.3f} +- {np.sqrt(np.square(each).sum()):.3f}"
        f"  width {np.median(w):5.2f} (stretched {np.median(w) * wanted:5.2f})  median error {np.median(error):.2f}"
        f"  rms {np.sqrt((z * z).mean()):.2f}  mean {z.mean():+.2f}"
        f"  log density {np.mean([c.log_score for c in mine]):.3f}"
    )


def table(found: list[Case]) -> str:
    """All states, then by what changed, by class, and by class the states without second level."""
    out = [line("all", found)]
    for kind in KINDS:
        mine = [c for c in found if kind in c.kinds]
        alone = [c for c in mine if len(c.kinds) == 1]
        if mine:
            out.append(line(kind, mine))
        if len(alone) > 7 and len(alone) < len(mine):
            out.append(line("  alone", alone))
    for name in CLASSES:
        if mine := [c for c in found if c.board_class == name]:
            out.append(line(name, mine))
            for off, words in ((False, "  with second level"), (True, "  without, board seen so")):
                part = [c for c in mine if c.off is off and (c.seen_off or not off)]
                if 0 < len(part) < len(mine):
                    out.append(line(words, part))
            if part := [c for c in mine if c.off and not c.seen_off]:
                out.append(line("  without, board never seen so", part))
    return "\n".join(out)


def main() -> None:
    """Command line."""
    parser = arguments(__doc__, 700_000)
    parser.add_argument("--finer", type=float, default=1.0)
    given = parser.parse_args()
    found = [
        c
        for k in range(given.books)
        for c in cases(given.seed + k, given.boards, given.runs, physics=given.physics, times=given.finer)
    ]
    print(
        f"{given.boards} x {given.runs}, {given.books} books, physics {given.physics}, seeds from {given.seed},"
        f" printed {given.finer:g} times finer"
    )
    print(table(found))


if __name__ == "__main__":
    main()
