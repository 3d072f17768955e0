"""Ten-year books: is a display card's effect recovered, are records false or missed?

    python validation/claims_books.py [BOOKS]

Each book: 38 boards, 400 runs, three display cards, hidden board effects (sd 2.5 %),
noise between boots 0.25 % and printed digits. The scores come from a rule of their own (time =
core part + memory part + card part + a board's hidden shift), not from the forecast's model. All of it is invented.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from fractions import Fraction

import msgspec
import numpy as np

from leadoff.book import Draft
from leadoff.claims.rigs import rigs_of
from leadoff.claims.standings import field_of
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
BOARD_SD, BOOT_SD, TRANSFER_SD = 0.025, 0.0025, 0.01
BOARDS, RUNS, BRIDGES = 38, 400, 4


@dataclass(frozen=True)
class Made:
    """One run before it becomes an entry: its settings, its card, its readings and its true score."""

    board: str
    settings: dict[str, str]
    card: str
    readings: tuple[float, ...]
    true: float


@dataclass(frozen=True)
class World:
    """Runs in order and the true log effect of each card over the first."""

    runs: tuple[Made, ...]
    effects: dict[str, float]


def world(seed: int, boards: int = BOARDS, runs: int = RUNS) -> World:
    """A book's truth. Cards follow one another over the years; a few bridging runs join each to the next."""
    rng = np.random.default_rng(seed)
    effects = {"card 1": 0.0, "card 2": float(rng.normal(0.12, 0.05)), "card 3": float(rng.normal(0.2, 0.05))}
    shift = rng.normal(0.0, BOARD_SD, boards)
    own = rng.normal(0.0, TRANSFER_SD, (boards, 3))
    core, memory = rng.uniform(0.3, 0.6), rng.uniform(1.0, 2.0)
    out: list[Made] = []
    cards = list(effects)

    def add(b: int, card: int, bus: str, ratio: str, ws: str) -> None:
        f_bus = float(Fraction(bus))
        time = core * 40.0 / (f_bus * float(Fraction(ratio))) + memory * (1.0 + 0.06 * int(ws)) / f_bus
        true = math.exp(-math.log(time) + shift[b] + effects[cards[card]] + (own[b, card] if card else 0.0))
        level = true * math.exp(rng.normal(0.0, BOOT_SD))
        shown = tuple(
            round(level * math.exp(rng.normal(0.0, 0.001)), 1) for _ in range(int(rng.integers(1, 4)))
        )
        out.append(
            Made(f"b{b:02d}", {"bus_mhz": bus, "ratio": ratio, "dram_read_ws": ws}, cards[card], shown, true)
        )

    joints = {round(runs * k / 3) for k in (1, 2)}
    while len(out) < runs:
        n = len(out)
        era = min(2, 3 * n // runs)
        b = int(rng.integers(max(0, boards * n // runs - 6), max(1, boards * n // runs + 1)))
        state = (str(rng.choice(BUSES)), str(rng.choice(RATIOS)), str(rng.integers(0, 3)))
        add(b, era, *state)
        if any(abs(n - j) <= BRIDGES for j in joints) and len(out) < runs:
            old = out[int(rng.integers(0, max(1, round(runs * era / 3) - 1)))] if era else out[-1]
            if era:
                add(int(old.board[1:]), era - 1, *old.settings.values())
                add(int(old.board[1:]), era, *old.settings.values())
    return World(tuple(out[:runs]), effects)


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
                observed=Observed(run=run, setup=setup, when=str(n)),
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
    return Setup(sheet=sheet, state=state, clocks={"bus_mhz": bus, "core_mhz": bus * ratio})


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
        at = f"{2010 + n // 40:04d}-{1 + n % 12:02d}-{1 + n % 28:02d}T{n // 60 % 24:02d}:{n % 60:02d}:00Z"
        todo.append((at, StateBody(board=m.board, settings=_setup(m).state.settings)))
        todo.append((at, RunBody(run=_run(n, m), said="")))
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
    unknown: int = 0
    false_records: int = 0
    missed_records: int = 0
    chances: int = 0


def judge(seed: int, tally: Tally) -> None:
    """One book: the effect of each card over the first, and every new best under one card."""
    made = world(seed)
    book = ledger(made)
    house = field_of(book, W1).house
    rigs = rigs_of(book.of("w1"), house)
    for card in ("card 2", "card 3"):
        found = rigs.effect("card 1", card)
        if found is None:
            tally.unknown += 1
            continue
        half = t_quantile(0.95, 60.0) * found.sd
        tally.effects += 1
        tally.inside += abs(found.log - made.effects[card]) <= half
    _records(book, made, tally)


def _records(book: Ledger, made: World, tally: Tally) -> None:
    """A record is called when a state's mean is shown to beat the best before it under the same card."""
    field = field_of(book, W1)
    truth: dict[str, float] = {}
    for n, m in enumerate(made.runs, 1):
        truth[str(n)] = m.true
    cells = sorted(field.cells, key=lambda c: int(c.mean.runs[0]))
    for card in ("card 1", "card 2", "card 3"):
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
    books = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    tally = Tally()
    for seed in range(books):
        judge(seed, tally)
    share = tally.inside / max(1, tally.effects)
    error = math.sqrt(share * (1 - share) / max(1, tally.effects))
    print(f"{books} books of {BOARDS} boards and {RUNS} runs")
    print(
        f"card effect inside its 90 % interval: {100 * share:.1f} % (standard error {100 * error:.1f}) of "
        f"{tally.effects}; unknown for want of a bridge {tally.unknown}; goal 85 to 95 %"
    )
    print(
        f"records: {tally.false_records} false and {tally.missed_records} missed of {tally.chances} new states "
        "held against the best before them"
    )


if __name__ == "__main__":
    main()
