"""What the sweeps in the book say of cycle counts, for the forecast."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from leadoff.forecast.facts import Fills, Observed, Setup
from leadoff.record.errors import LeadoffError
from leadoff.record.runs import Outcome, Run

if TYPE_CHECKING:
    from leadoff.loop.history import SweepView
    from leadoff.memory.sweep_values import Declared, Dispute, SweepReading


def observed(sweeps: Iterable[SweepView]) -> tuple[Observed, ...]:
    """Sweeps as runs without a score: those that bound a fill. One that cannot be read any more, is no read
    sweep, or disagrees with the sheet, bounds nothing until that is settled."""
    out = []
    for view in sweeps:
        try:
            reading = _reading(view.body.said, view.body.where, view.line_bytes, view.setup.clock("bus_mhz"))
        except LeadoffError:
            continue
        fills = bounds(reading, view.setup)
        if fills is not None:
            run = Run(
                number=view.entry[:12],
                board=view.setup.board,
                workload=None,
                outcome=Outcome.FINISHES,
                flags=("sweep",),
            )
            out.append(Observed(run=run, setup=view.setup, when=view.when, fills=fills))
    return tuple(out)


def reading_of(view: SweepView) -> SweepReading:
    """A kept sweep, read.

    Raises:
        LeadoffError: it cannot be read any more.
    """
    return _reading(view.body.said, view.body.where, view.line_bytes, view.setup.clock("bus_mhz"))


def bounds(reading: SweepReading, setup: Setup) -> Fills | None:
    """Clocks of a line that the reading bounds in a state; ``None`` where it may not be used."""
    from leadoff.memory.sweep import compare_sweep, fill_bounds

    if usable_because(reading, setup, compare_sweep(reading, declared(setup))):
        return None
    found = fill_bounds(reading)
    if found.l2_read_clocks is None and found.dram_read_clocks is None:
        return None
    return Fills(
        cache=found.l2_read_clocks,
        memory=found.dram_read_clocks,
        noise_log=max(0.01, reading.noise_pct / 100),
    )


def usable_because(reading: SweepReading, setup: Setup, disputes: tuple[Dispute, ...]) -> str:
    """Why a reading does not narrow the forecast; empty when it does."""
    from leadoff.memory.sweep import SweepKind

    if reading.kind is not SweepKind.READ:
        return "only a read sweep bounds what a line fill takes"
    if reading.bus_mhz is None:
        return "the bus clock is not known"
    if disputes:
        return "sheet and sweep disagree: settle that first"
    caches = _caches(setup)
    if caches is None:
        return "not known which caches are fitted and on"
    if len(reading.levels) != caches + 1 and reading.too_few:
        return f"{caches + 1} levels are set on the sheet, and whether they are there {reading.too_few}"
    if len(reading.levels) != caches + 1:
        return f"{caches + 1} levels are set on the sheet, the sweep shows {len(reading.levels)}"
    if caches == 0 or setup.state.value("l1") == "off":
        return "without a first-level cache reads are no line fills"
    return ""


def declared(setup: Setup, *, sweeps: int = 1) -> Declared:
    """What the sheet says of the caches of a state."""
    from leadoff.memory.sweep import Declared

    state, part = setup.state, setup.processor

    def switch(name: str) -> bool | None:
        value = state.value(name)
        return None if value is None else value == "on"

    def number(name: str) -> float | None:
        value = state.value(name)
        return None if value is None else float(value)

    return Declared(
        l1=switch("l1"),
        l1_kb=part.l1_kb if part is not None else None,
        l1_policy=state.value("l1_policy"),
        l2=switch("l2"),
        l2_kb=number("l2_kb"),
        l2_policy=state.value("l2_policy"),
        sweeps=sweeps,
    )


def _caches(setup: Setup) -> int | None:
    """How many cache levels the sheet has at work; ``None`` where the second is not known of."""
    state, part = setup.state, setup.processor
    first = not (state.value("l1") == "off" or (part is not None and part.l1_kb == 0))
    size = state.value("l2_kb")
    kb = float(size) if size is not None else (part.l2_kb if part is not None else None)
    if state.value("l2") == "off":
        kb = 0
    return None if kb is None else int(first) + int(kb > 0)


@lru_cache(maxsize=256)
def _reading(said: str, where: str, line_bytes: int, bus_mhz: float | None) -> SweepReading:
    from leadoff.memory.sweep import parse_sweep, read_sweep

    kind, _, unit = where.partition(" ")
    parsed = parse_sweep(said, unit=unit or None, kind=kind or None, line_bytes=line_bytes)
    return read_sweep(parsed, bus_mhz=bus_mhz, line_bytes=line_bytes)
