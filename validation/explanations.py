"""Are explanations right? Pairs of generated runs with 2 to 5 changed factors, against the generator's own split.

    python validation/explanations.py BOARDS RUNS BOOKS [--seed N] [--wrong SHARE] [--physics plain|variant]

Truth is the same exact split (Shapley, in log score) of the generator's noiseless scores. ``told``: an effect whose
verdict is "shown" or "expected" (its sign is given); ``shown``: by the book's runs. ``false``: told, and the true
effect has the other sign or is below 0.1 %. Effects of settings that are not known in one of the states have no truth
and are left out. Declarations are right unless ``--wrong`` says otherwise. ``--physics variant`` is what the widths
of effects were set on (``variant.py``), never what they are judged on. Errors are those between books.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from books import Book, book_of  # type: ignore[import-not-found,unused-ignore]
from numpy.typing import NDArray
from variant import TEMPLATES, variant  # type: ignore[import-not-found,unused-ignore]

from leadoff.forecast import scale
from leadoff.forecast.explain import why
from leadoff.forecast.facts import Observed
from leadoff.forecast.shapley import shapley_matrix
from leadoff.forecast.why import BUS, CORE, changed_factors
from leadoff.record.runs import Workload
from leadoff.validation.worlds import World

Arr = NDArray[np.float64]
CLASSES = ("386sx", "386dx", "486vlb", "486pci", "socket5", "socket7", "slot1")
REAL, NOTHING = 1.0, 0.1


@dataclass(frozen=True)
class Effect:
    """One effect in percent of the score: truth, forecast with its band, and what was said of it."""

    factor: str
    true: float
    made: float
    lo: float
    hi: float
    verdict: str
    board_class: str
    book: int

    @property
    def told(self) -> bool:
        return self.verdict in ("shown", "expected")

    @property
    def false(self) -> bool:
        return self.told and (abs(self.true) < NOTHING or self.true * self.made < 0.0)


def pairs(runs: Sequence[Observed], most: int) -> Iterator[tuple[Observed, Observed]]:
    """Pairs of runs of one board with 2 to 5 changed factors, the latest first."""
    held = [o for o in runs if scale.usable(o.run)]
    given = 0
    for b, a in combinations(list(reversed(held)), 2):
        if 2 <= len(changed_factors(a.setup, b.setup)) <= 5:
            yield a, b
            given += 1
            if given >= most:
                return


def true_effects(world: World, a: Observed, b: Observed, factors: Sequence[str], workload: str) -> Arr:
    """Exact split of the noiseless scores of the states between the two, in logs of the score."""
    true = {x.number: dict(x.true) for x in world.log}
    one, two = true[a.run.number], true[b.run.number]
    states = []
    for m in range(2 ** len(factors)):
        taken = {f for i, f in enumerate(factors) if m >> i & 1}
        now = {**one, **{f: two[f] for f in taken if f not in (CORE, BUS) and f in two}}
        core = (b if CORE in taken else a).setup.clocks["core_mhz"]
        bus = (b if BUS in taken else a).setup.clocks["bus_mhz"]
        assert core is not None
        assert bus is not None
        now.update({"bus_mhz": str(bus), "ratio": str(core / bus)})
        states.append({n: v for n, v in now.items() if n != "can_mhz"})
    place = [w.name for w in world.workloads].index(workload)
    return np.asarray(shapley_matrix(len(factors)) @ world.scores(a.run.board, states)[:, place])


def explained(
    seed: int,
    boards: int,
    runs: int,
    *,
    wrong: float = 0.0,
    physics: str = "plain",
    workload: str = "w4",
    most: int = 4,
) -> list[Effect]:
    """Every effect of up to ``most`` pairs of each board of one generated book."""
    classes = (CLASSES[seed % len(CLASSES)],) if boards == 1 else None
    other = physics == "variant"
    if other:
        workload = TEMPLATES[(seed // len(CLASSES) if boards == 1 else seed) % len(TEMPLATES)]
    with variant(seed) if other else nullcontext():
        world = World(seed, boards=boards, runs=runs, classes=classes, workloads=(workload,), wrong=wrong)
        book: Book = book_of(world)
        asked = next(w for w in book.workloads if w.name == workload)
        return [
            e
            for sheet in world.boards
            for a, b in pairs([o for o in book.runs if o.setup.board == sheet.id], most)
            for e in _effects(world, book, asked, a, b, sheet.board_class)
        ]


def _effects(
    world: World, book: Book, workload: Workload, a: Observed, b: Observed, board_class: str
) -> list[Effect]:
    """The effects of one pair; none where a changed setting is not known, for then there is no truth."""
    got = why(a, b, workload, book.runs, workloads=book.workloads)
    if any(f.before is None or f.after is None for f in got.factors):
        return []
    truth = true_effects(world, a, b, [f.factor for f in got.factors], workload.name)
    out = []
    for f, t in zip(got.factors, truth, strict=True):
        share = f.share
        assert share.value is not None
        assert share.lo is not None
        assert share.hi is not None
        pct = 100.0 * float(np.expm1(t))
        out.append(Effect(f.factor, pct, share.value, share.lo, share.hi, f.verdict, board_class, world.seed))
    return out


@dataclass(frozen=True)
class Rates:
    """Shares over many effects; ``real`` counts those above 1 %."""

    effects: int
    real: int
    told: float
    shown: float
    false: float
    inside: float
    inside_error: float


def rates(found: Sequence[Effect]) -> Rates:
    """The figures of the goals."""
    real = [e for e in found if abs(e.true) > REAL]
    said = [e for e in found if e.told]
    return Rates(
        len(found),
        len(real),
        float(np.mean([e.told for e in real])),
        float(np.mean([e.verdict == "shown" for e in real])),
        float(np.mean([e.false for e in said])),
        *_inside(found),
    )


def _inside(found: Sequence[Effect]) -> tuple[float, float]:
    """Share inside the bands, and its standard error between books."""
    hit = np.array([e.lo <= e.true <= e.hi for e in found], dtype=np.float64)
    book = np.array([e.book for e in found])
    share = float(hit.mean())
    off = np.array([(hit[book == b] - share).sum() for b in np.unique(book)])
    return share, float(np.sqrt((off**2).sum())) / len(found)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("boards", type=int)
    parser.add_argument("runs", type=int)
    parser.add_argument("books", type=int)
    parser.add_argument("--seed", type=int, default=400_000)
    parser.add_argument("--wrong", type=float, default=0.0)
    parser.add_argument("--physics", choices=("plain", "variant"), default="plain")
    given = parser.parse_args()
    found = [
        e
        for k in range(given.books)
        for e in explained(given.seed + k, given.boards, given.runs, wrong=given.wrong, physics=given.physics)
    ]
    r = rates(found)
    print(
        f"{given.boards} x {given.runs}, {given.books} books, wrong {given.wrong:g}, physics {given.physics}, "
        f"seeds from {given.seed}: {r.effects} effects, "
        f"{r.real} above {REAL:g} %: told {r.told:.3f} (goal .85), of these shown {r.shown:.3f}; "
        f"false of the told {r.false:.4f} (goal .01); inside their 90 % band {r.inside:.3f} ± {r.inside_error:.3f}"
    )
    for e in sorted((e for e in found if e.false), key=lambda e: -abs(e.made))[:12]:
        print(f"  false: {e.board_class} {e.factor} true {e.true:+.2f} said {e.made:+.2f} {e.verdict}")
    names = sorted({e.factor for e in found})
    for n in names:
        untold = [e for e in found if e.factor == n and abs(e.true) > REAL]
        missed = [e for e in untold if not e.told]
        if missed:
            print(f"  untold: {n} {len(missed)} of {len(untold)}")


if __name__ == "__main__":
    main()
