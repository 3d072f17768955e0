"""Generated books as a forecast sees them: declared states folded entry by entry, never the truth."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from leadoff.forecast.facts import Observed, Setup
from leadoff.machine.clocks import clocks
from leadoff.machine.fold import BoardFold, start, step
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.entries import BoardBody, DidBody, RunBody, StateBody
from leadoff.record.quantity import Source
from leadoff.record.runs import Workload
from leadoff.record.state import UNKNOWN_SETTING, Setting, State, Status
from leadoff.validation.worlds import World


@dataclass(frozen=True)
class Book:
    """Runs as observed, the board as declared at the end, and the world behind them."""

    world: World
    runs: tuple[Observed, ...]
    folds: Mapping[str, BoardFold]
    workloads: tuple[Workload, ...]

    def setup(self, board: str, settings: Mapping[str, str | None] | None = None) -> Setup:
        """The board's declared state at the end, with other settings where given (``None``: not known)."""
        fold = self.folds[board]
        state = fold.state()
        if settings:
            made = {n: _known(v) for n, v in settings.items()}
            state = State(board=board, settings={**state.settings, **made})
        return setup_of(state, fold.sheet)


def processor_of(sheet: BoardSheet) -> Processor | None:
    """The processor that a board file itself describes."""
    row = sheet.cpu_row
    if row is None:
        return None

    def fraction(key: str) -> Fraction | None:
        value = row.get(key)
        return Fraction(str(value)) if value is not None else None

    def number(key: str) -> float | None:
        value = row.get(key)
        return float(str(value)) if value is not None else None

    ratios = row.get("ratios")
    l2 = str(row.get("l2_clock", ""))
    return Processor(
        id=sheet.cpu or "",
        core=str(row.get("core", "")),
        locked=fraction("locked"),
        ratios=tuple(Fraction(str(r)) for r in ratios) if isinstance(ratios, Sequence) else (),
        v_typ=number("v"),
        v_max=number("v_max"),
        amps=number("amps"),
        watts=number("watts"),
        rated_mhz=fraction("rated_mhz"),
        l2_clock=Fraction(1, int(l2.split("/")[1])) if "/" in l2 else None,
        l2_kb=int(float(str(row["l2_kb"]))) if "l2_kb" in row else None,
        l1_kb=number("l1_kb"),
        fpu=(sheet.fpu or "none") != "none" if sheet.fpu else None,
    )


def setup_of(state: State, sheet: BoardSheet) -> Setup:
    """A state with its clocks and its processor."""
    part = processor_of(sheet)
    made = {n: c.mhz for n, c in clocks(state, sheet, part).items()}
    return Setup(sheet=sheet, state=state, clocks=made, processor=part)


def book_of(world: World) -> Book:
    """Fold a world's events into what a book would know."""
    folds: dict[str, BoardFold] = {}
    runs = []
    for at, body in world.events():
        if isinstance(body, BoardBody):
            folds[body.sheet.id] = start(body.sheet)
        elif isinstance(body, StateBody | DidBody):
            made = step(folds[body.board], body, at)
            assert made is not None, "the board was added before"
            folds[body.board] = made
        elif isinstance(body, RunBody):
            fold = folds[body.run.board]
            runs.append(Observed(run=body.run, setup=setup_of(fold.state(), fold.sheet), when=at))
    return Book(world=world, runs=tuple(runs), folds=folds, workloads=tuple(world.workloads))


def _known(value: str | None) -> Setting:
    if value is None:
        return UNKNOWN_SETTING
    return Setting(value=value, status=Status.KNOWN, source=Source.DECLARED)


def arguments(doc: str | None, seed: int) -> argparse.ArgumentParser:
    """The command line of what runs over generated books: how many of which shape, from which seed, which physics."""
    parser = argparse.ArgumentParser(description=doc)
    for name in ("boards", "runs", "books"):
        parser.add_argument(name, type=int)
    parser.add_argument("--seed", type=int, default=seed)
    parser.add_argument("--physics", default="plain")
    return parser
