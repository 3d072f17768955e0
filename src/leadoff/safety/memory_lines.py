"""Memory modules against the clock they are run at."""

from __future__ import annotations

from leadoff.electrical.power import change_pct
from leadoff.machine.clocks import clocks
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet, MemoryFit
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source
from leadoff.record.state import State
from leadoff.safety.line import Line
from leadoff.words import memory_fit


def memory_lines(state: State, sheet: BoardSheet, part: Processor | None) -> list[Line]:
    """Clocked memory: the clock period against the grade printed on it, with the CAS latency it is rated for."""
    fits = [_fit(name, s.value) for name, s in state.settings.items() if name.startswith("ram.") and s.value]
    clocked = [f for f in fits if f is not None and f.type == "sdram" and f.ns is not None]
    found = clocks(state, sheet, part)
    clock = found.get("mem_mhz") or found["bus_mhz"]
    if not clocked or clock.mhz is None:
        return []
    period = 1000.0 / float(clock.mhz)
    return [line for f in clocked if (line := _clocked(f, period, state)) is not None]


def _fit(name: str, text: str | None) -> MemoryFit | None:
    return memory_fit(text, name.removeprefix("ram.")) if text else None


def _clocked(fit: MemoryFit, period_ns: float, state: State) -> Line | None:
    assert fit.ns is not None
    over = change_pct(fit.ns, period_ns)
    asked = state.value("cas")
    value = Quantity(value=period_ns, unit="ns", source=Source.COMPUTED)
    limit = Quantity(value=fit.ns, unit="ns", source=Source.DECLARED, why="grade printed on the module")
    words = f"memory in {fit.site}: period {period_ns:.2f} ns, grade {fit.ns:g} ns"
    if fit.cas is not None:
        words += f" rated for CAS latency {fit.cas}"
    if over > 0.5:
        return Line(
            topic="memory_clock",
            verdict=Level.RED,
            why=f"{words}: faster than the part by {over:.0f} %",
            value=value,
            limit=limit,
            over_pct=over,
            caution="Errors may stay silent: soak with a memory test before trusting any result.",
            certainty="declared",
        )
    if fit.cas is not None and asked is not None and float(asked) < fit.cas:
        return Line(
            topic="memory_clock",
            verdict=Level.AMBER,
            why=f"{words}: inside only at CAS latency {fit.cas}, {asked} is set",
            value=value,
            limit=limit,
            over_pct=over,
            caution="Soak with a memory test before trusting any result.",
            certainty="declared",
        )
    only = f"; inside at CAS latency {fit.cas} only" if fit.cas is not None else ""
    return Line(
        topic="memory_clock",
        verdict=Level.GREEN,
        why=f"{words}{only}",
        value=value,
        limit=limit,
        over_pct=over,
        certainty="declared",
    )
