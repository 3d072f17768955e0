"""Memory modules against the clock they are run at."""

from __future__ import annotations

from functools import partial

import msgspec

from leadoff.electrical.power import change_pct
from leadoff.machine.clocks import Clock, clocks
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet, MemoryFit
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source
from leadoff.record.state import State
from leadoff.safety.line import Line
from leadoff.words import memory_fit


def memory_lines(state: State, sheet: BoardSheet, part: Processor | None) -> list[Line]:
    """Clocked memory: the clock period against the grade printed on it, with the CAS latency it is rated for."""
    named = sorted((n, s.value) for n, s in state.settings.items() if n.startswith("ram.") and s.value)
    clocked = [f for n, text in named if (f := memory_fit(text, n.removeprefix("ram."))).type == "sdram"]
    found = clocks(state, sheet, part)
    clock = found.get("mem_mhz") or found["bus_mhz"]
    return [_line(f, clock, state) for f in clocked]


def _line(fit: MemoryFit, clock: Clock, state: State) -> Line:
    if clock.mhz is None:
        return _not_known(fit, f"its clock is not known: {clock.why}")
    if fit.ns is None:
        return _not_known(fit, f"the grade is not known, the period is {1000.0 / float(clock.mhz):.2f} ns")
    line = _clocked(fit, fit.ns, 1000.0 / float(clock.mhz), state)
    if clock.source is Source.ASSUMED and line.verdict is Level.GREEN:
        why = f"{line.why}; the clock is assumed, not known: {clock.why}"
        caution = "Measure the clock before trusting it."
        return msgspec.structs.replace(line, verdict=Level.AMBER, why=why, caution=caution)
    return line


def _not_known(fit: MemoryFit, what: str) -> Line:
    return Line(
        topic="memory_clock",
        verdict=Level.AMBER,
        why=f"memory in {fit.site}: {what}",
        caution="Read the grade on the chips and soak with a memory test.",
        certainty="declared",
    )


def _clocked(fit: MemoryFit, grade_ns: float, period_ns: float, state: State) -> Line:
    over = change_pct(grade_ns, period_ns)
    asked = state.value("cas")
    value = Quantity(value=period_ns, unit="ns", source=Source.COMPUTED)
    limit = Quantity(value=grade_ns, unit="ns", source=Source.DECLARED, why="grade printed on the module")
    words = f"memory in {fit.site}: period {period_ns:.2f} ns, grade {grade_ns:g} ns"
    if fit.cas is not None:
        words += f" rated for CAS latency {fit.cas}"
    line = partial(Line, topic="memory_clock", value=value, limit=limit, over_pct=over, certainty="declared")
    if over > 0.5:
        return line(
            verdict=Level.RED,
            why=f"{words}: faster than the part by {over:.0f} %",
            caution="Errors may stay silent: soak with a memory test before trusting any result.",
        )
    if fit.cas is None:
        return line(verdict=Level.GREEN, why=words)
    if asked is None:
        return line(
            verdict=Level.AMBER,
            why=f"{words}: inside at CAS latency {fit.cas} only; which one is set is not known",
            caution=f"Set CAS latency {fit.cas} in the set-up.",
        )
    if float(asked) < fit.cas:
        return line(
            verdict=Level.AMBER,
            why=f"{words}: inside only at CAS latency {fit.cas}, {asked} is set",
            caution="Soak with a memory test before trusting any result.",
        )
    return line(verdict=Level.GREEN, why=f"{words}; inside at CAS latency {fit.cas} only")
