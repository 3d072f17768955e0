"""Clocks against what parts and buses are rated for."""

from __future__ import annotations

from fractions import Fraction

from leadoff.catalogue import Catalogue
from leadoff.electrical.power import change_pct
from leadoff.machine.clocks import Clock, clocks
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source, unknown
from leadoff.record.state import State
from leadoff.safety.line import Line, rests_on

ROUNDING_PCT = 0.5
"""A nominal clock read by a counter may lie this far above its name without being another clock."""

_BY_CHOICE = frozenset({"core", "l2"})
"""Clocks of the part itself: beyond the rating it may fail, which is the tuner's choice and no damage to data
on a disk or to another card at nominal volts; amber, not red."""

_CAUTION = {
    "pci": "Disk controllers on this bus may corrupt data: image the disk first; a boot is no pass.",
    "agp": "Display errors and hangs are the first signs; the display card is at risk.",
    "isa": "Disk and sound cards fail first; image the disk first.",
    "vlb": "Fewer cards hold at this clock; disk controllers may corrupt data: image the disk first.",
    "core": "Heat rises with the clock; watch the case temperature and soak before trusting it.",
    "l2": "The cache on the part is often the first to fail, before the core.",
}


def clock_lines(state: State, sheet: BoardSheet, part: Processor | None, catalogue: Catalogue) -> list[Line]:
    """A line for each clock with a limit: red above it, amber when it is not known or only assumed."""
    found = clocks(state, sheet, part)
    out = []
    if part is not None and part.rated_mhz is not None:
        sure = part.certainty.get("rated_mhz", "")
        out.append(
            _line("core_clock", "core", found["core_mhz"], part.rated_mhz, sure, f"{part.id} is rated")
        )
    if "l2_mhz" in found and part is not None:
        rated = part.l2_rated_mhz
        if rated is None and part.rated_mhz is not None and part.l2_clock is not None:
            rated = part.rated_mhz * part.l2_clock
        if rated is not None:
            words = "the cache on the part is rated"
            out.append(_line("l2_clock", "l2", found["l2_mhz"], rated, "declared", words))
    for bus in ("pci", "agp", "isa", "vlb"):
        clock = found.get(f"{bus}_mhz")
        row = catalogue.buses.get(bus)
        if clock is None or row is None or row.max_mhz is None:
            continue
        limit = Fraction(row.max_mhz).limit_denominator(1000)
        sure = row.certainty("max_mhz")
        out.append(_line(f"{bus}_clock", bus, clock, limit, sure, f"{bus.upper()} is specified"))
        if bus == "vlb":
            out += _vlb_loads(clock, sheet, row.loads_by_mhz)
    return out


def _line(topic: str, kind: str, clock: Clock, limit_mhz: Fraction, certainty: str, words: str) -> Line:
    limit = Quantity(value=float(limit_mhz), unit="MHz", source=Source.READ, why=certainty)
    if clock.mhz is None:
        return Line(
            topic=topic,
            verdict=Level.AMBER,
            why=f"clock not known: {clock.why}",
            value=unknown("MHz", clock.why),
            limit=limit,
            caution="Measure the clock before trusting it.",
            certainty=certainty,
        )
    over = change_pct(float(clock.mhz), float(limit_mhz))
    beyond = over > ROUNDING_PCT
    value = clock.quantity()
    why = f"{float(clock.mhz):.4g} MHz; {words} for {float(limit_mhz):.4g} MHz"
    verdict, caution = Level.GREEN, ""
    if beyond:
        why += f": {over:+.1f} %{rests_on(certainty)}"
        verdict, caution = (Level.AMBER if kind in _BY_CHOICE else Level.RED), _CAUTION[kind]
    if clock.source is Source.ASSUMED:
        why += f"; the clock is assumed, not known: {clock.why}"
        if not beyond:
            verdict, caution = Level.AMBER, "Measure the clock before trusting it."
    return Line(
        topic=topic,
        verdict=verdict,
        why=why,
        value=value,
        limit=limit,
        over_pct=max(over, 0.0) if beyond else over,
        caution=caution,
        certainty=certainty,
    )


def _vlb_loads(clock: Clock, sheet: BoardSheet, loads: dict[str, int] | object) -> list[Line]:
    """How many local bus cards a clock allows."""
    cards = [c for c in sheet.cards if c.bus == "vlb"]
    if clock.mhz is None or not cards or not isinstance(loads, dict) or not loads:
        return []
    above = [(Fraction(m), n) for m, n in loads.items() if Fraction(m) * Fraction(1005, 1000) >= clock.mhz]
    allowed = min(above)[1] if above else 0
    if len(cards) <= allowed:
        return []
    return [
        Line(
            topic="vlb_loads",
            verdict=Level.AMBER,
            why=f"{len(cards)} local bus cards at {float(clock.mhz):.4g} MHz; {allowed} are usual at this clock",
            caution=_CAUTION["vlb"],
            certainty="read",
        )
    ]
