"""Ten-year books: is a display card's effect recovered, are records false or missed?

    python validation/claims_books.py [BOOKS] [--first SEED]

Each book: 38 boards, 400 runs, three display cards, one change of the disk image without effect, hidden board
effects (sd 2.5 %), run noise 0.25 %, page placement once for each boot, and printed digits. The scores come from a
rule of their own, not from the forecast's model: line fills by page hit, row miss and bank miss, stores through a
queue that is served one at a time, refresh that takes its share of the bus, a card that costs time and no share
of it (``claims_scores.py``). All of it is invented.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import msgspec
import numpy as np
from claims_scores import frames_ms, work  # type: ignore[import-not-found,unused-ignore]

from leadoff.book import Draft
from leadoff.claims.standings import Field, field_of
from leadoff.claims.values import Ledger, Trial, hold_key, state_key, state_settings
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.student import t_quantile
from leadoff.loop.session import Session, kind_of
from leadoff.record.board import BoardSheet
from leadoff.record.entries import BoardBody, Body, RunBody, StateBody, workload_row
from leadoff.record.quantity import Source
from leadoff.record.runs import Direction, Outcome, Run, Workload
from leadoff.record.state import Setting, State, Status
from leadoff.words import reading

W1 = Workload(name="w1", unit="frames/s", direction=Direction.HIGHER)
BUSES = ("25", "100/3", "40", "50", "60", "200/3")
RATIOS = ("1", "2", "3", "4")
RIGS = ("card 1, image 1", "card 2, image 1", "card 2, image 2", "card 3, image 2")
CARD_OF = (0, 1, 1, 2)
BOARD_SD, RUN_SD = 0.025, 0.0025
BOARDS, RUNS, BRIDGES = 38, 400, 4
SLIPPED = 40  # books that slips are put into, and looked for


@dataclass(frozen=True)
class Made:
    """One run before it becomes an entry: its settings, its card, its readings and its true score."""

    board: str
    settings: dict[str, str]
    card: str
    readings: tuple[float, ...]
    true: float
    scores: tuple[float, ...]
    at: str
    core_mhz: Fraction | None = None


@dataclass(frozen=True)
class World:
    """Runs in order and the true log effect of each rig over the first, on the mean of all states that were run."""

    runs: tuple[Made, ...]
    effects: dict[str, float]


def world(seed: int, boards: int = BOARDS, runs: int = RUNS) -> World:
    """A book's truth. Rigs follow one another over the years; a few bridging runs join each to the next."""
    rng = np.random.default_rng(seed)
    frame = work(rng)
    ns = [300.0]
    ns += [ns[0] * float(np.exp(rng.normal(-0.45, 0.15))), ns[0] * float(np.exp(rng.normal(-0.75, 0.15)))]
    shift = rng.normal(0.0, BOARD_SD, boards)
    plan: list[tuple[int, int, tuple[str, str, str]]] = []
    joints = {round(runs * k / len(RIGS)) for k in range(1, len(RIGS))}
    while len(plan) < runs:
        n = len(plan)
        era = min(len(RIGS) - 1, len(RIGS) * n // runs)
        b = int(rng.integers(max(0, boards * n // runs - 6), max(1, boards * n // runs + 1)))
        plan.append((b, era, (str(rng.choice(BUSES)), str(rng.choice(RATIOS)), str(rng.integers(0, 3)))))
        if era and any(0 <= n - j <= 2 * BRIDGES for j in joints):
            old = plan[int(rng.integers(0, max(1, round(runs * era / len(RIGS)) - 1)))]
            plan += [(old[0], era - 1, old[2]), (old[0], era, old[2])]
    plan = plan[:runs]
    bus = np.array([float(Fraction(s[0])) for _, _, s in plan])
    ratio, waits = (np.array([float(s[k]) for _, _, s in plan]) for k in (1, 2))
    own = shift[[b for b, _, _ in plan]]
    used = np.array([ns[CARD_OF[r]] for _, r, _ in plan])
    still = np.zeros(runs)
    true = np.array(
        [
            own - np.log(frames_ms(frame, bus, ratio, waits, np.full(runs, ns[c]), still) / 1000.0)
            for c in CARD_OF
        ]
    )
    boots = own - np.log(frames_ms(frame, bus, ratio, waits, used, rng.standard_normal(runs)) / 1000.0)
    out: list[Made] = []
    evening = datetime(2010, 1, 8, 19, 0, tzinfo=UTC)
    for n, (b, rig, state) in enumerate(plan):
        takes = np.exp(boots[n] + rng.normal(0.0, RUN_SD, int(rng.integers(1, 4))))
        evening += timedelta(minutes=float(rng.uniform(3.0, 9.0)))
        if rng.random() < 0.2:
            evening += timedelta(days=float(rng.integers(2, 90)))
        out.append(
            Made(
                board=f"b{b:02d}",
                settings=dict(zip(("bus_mhz", "ratio", "dram_read_ws"), state, strict=True)),
                card=RIGS[rig],
                readings=tuple(round(float(v), 1) for v in takes),
                true=math.exp(true[rig, n]),
                scores=tuple(float(v) for v in true[:, n]),
                at=evening.strftime("%Y-%m-%dT%H:%M:%SZ"),
            )
        )
    effects = {r: float(np.mean(true[k] - true[0])) for k, r in enumerate(RIGS)}
    return World(tuple(out), effects)


def ledger(made: World) -> Ledger:
    """The runs as a ledger, without the book between."""
    trials = []
    for n, m in enumerate(made.runs, 1):
        setup = _setup(m)
        settings = state_settings(setup)
        run = _run(n, m)
        trials.append(
            Trial(
                entry=str(n),
                observed=Observed(run=run, setup=setup, when=m.at),
                rig=m.card,
                settings=settings,
                key=state_key(settings),
                hold_key=hold_key(setup),
            )
        )
    names = sorted({m.board for m in made.runs})
    return Ledger(workloads={"w1": W1}, trials=tuple(trials), boards=dict.fromkeys(names, "486-vlb"))


def _setup(m: Made) -> Setup:
    state = State(
        board=m.board,
        settings={
            n: Setting(value=v, status=Status.KNOWN, source=Source.DECLARED) for n, v in m.settings.items()
        },
    )
    bus, ratio = Fraction(m.settings["bus_mhz"]), Fraction(m.settings["ratio"])
    sheet = BoardSheet(id=m.board, board_class="486-vlb")
    return Setup(sheet=sheet, state=state, clocks={"bus_mhz": bus, "core_mhz": m.core_mhz or bus * ratio})


def _run(n: int, m: Made) -> Run:
    return Run(
        number=str(n),
        board=m.board,
        workload="w1",
        outcome=Outcome.REPEATS if len(m.readings) > 1 else Outcome.FINISHES,
        unit=W1.unit,
        readings=tuple(reading(f"{v:.1f}") for v in m.readings),
        rig=m.card,
    )


def write_plain(session: Session, *, boards: int, runs: int, seed: int) -> int:
    """The same world as a book; returns how many runs it holds."""
    made = world(seed, boards, runs)
    todo: list[tuple[str, Body]] = []
    for b in sorted({m.board for m in made.runs}):
        sheet = BoardSheet(id=b, board_class="486-vlb")
        todo.append(("2010-01-01T00:00:00Z", BoardBody(sheet=sheet, file_text="")))
    todo.append(("2010-01-01T00:00:00Z", workload_row(W1)))
    for n, m in enumerate(made.runs, 1):
        todo.append((m.at, StateBody(board=m.board, settings=_setup(m).state.settings)))
        todo.append((m.at, RunBody(run=_run(n, m), said="")))
    todo.sort(key=lambda x: x[0])
    session.may_begin().book.append(
        [Draft(kind=kind_of(b), body=msgspec.json.encode(b), at=at) for at, b in todo]
    )
    return len(made.runs)


@dataclass
class Tally:
    """Over books: card effects inside their 90 % interval, and the records."""

    inside: int = 0
    effects: int = 0
    images: int = 0
    images_inside: int = 0
    unknown: int = 0
    false_records: int = 0
    missed_records: int = 0
    chances: int = 0


def judge(made: World, tally: Tally) -> None:
    """One book: the effect of each card over the first, and every new best under one card."""
    book = ledger(made)
    field = field_of(book, W1)
    rigs = field.rigs
    for a, b in ((0, 1), (0, 3), (1, 2)):
        found = rigs.effect(RIGS[a], RIGS[b])
        if found is None:
            tally.unknown += 1
            continue
        half = t_quantile(0.95, 60.0) * found.sd
        inside = abs(found.log - (made.effects[RIGS[b]] - made.effects[RIGS[a]])) <= half
        if b == 2:
            tally.images += 1
            tally.images_inside += inside
        else:
            tally.effects += 1
            tally.inside += inside
    _records(field, made, tally)


def _records(field: Field, made: World, tally: Tally) -> None:
    """A record is called when a state's mean is shown to beat the best before it under the same card."""
    truth: dict[str, float] = {}
    for n, m in enumerate(made.runs, 1):
        truth[str(n)] = m.true
    cells = sorted(field.cells, key=lambda c: int(c.mean.runs[0]))
    for card in RIGS:
        best = None
        for c in (c for c in cells if c.rig == card):
            if best is None:
                best = c
                continue
            pair = field.compared(best, c)
            better = truth[c.mean.runs[0]] > truth[best.mean.runs[0]]
            shown = pair is not None and pair.shown and pair.faster > 0
            tally.chances += 1
            tally.false_records += shown and not better
            tally.missed_records += better and not shown
            if c.mean.value > best.mean.value:
                best = c


def main() -> None:
    """Print the totals."""
    from claims_slips import Slips, look, record  # type: ignore[import-not-found,unused-ignore]

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("books", type=int, nargs="?", default=200)
    parser.add_argument("--first", type=int, default=0, help="seed of the first book")
    given = parser.parse_args()
    tally, slips = Tally(), Slips()
    for n in range(given.books):
        made = world(given.first + n)
        judge(made, tally)
        record(made, slips)
        if n < SLIPPED:
            look(made, given.first + n, slips)
        if n % 20 == 19:
            print(
                f"... {n + 1}: {tally.inside} of {tally.effects} inside; {'; '.join(slips.lines())}",
                flush=True,
            )
    share = tally.inside / max(1, tally.effects)
    error = math.sqrt(share * (1 - share) / max(1, tally.effects))
    print(f"{given.books} books of {BOARDS} boards and {RUNS} runs from seed {given.first}")
    print(
        f"card effect inside its 90 % interval: {100 * share:.1f} % (standard error {100 * error:.1f}) of "
        f"{tally.effects}; unknown for want of a bridge {tally.unknown}; goal 85 to 95 %"
    )
    print(
        f"a new disk image without effect: none inside the interval in {tally.images_inside} of {tally.images}"
    )
    print(
        f"records: {tally.false_records} false and {tally.missed_records} missed of {tally.chances} new states "
        "held against the best before them"
    )
    print("\n".join(slips.lines()))


if __name__ == "__main__":
    main()
