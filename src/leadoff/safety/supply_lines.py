"""Volts, amperes and heat of the processor: what kills before anything is measured."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from leadoff.electrical.power import change_pct, scaled_amps, scaled_watts
from leadoff.machine.adapter import adapter_of
from leadoff.machine.clocks import clocks
from leadoff.machine.effects import SAME_VOLTS_MEASURED
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet, Interposer, Rail
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source, unknown
from leadoff.record.state import State, Status
from leadoff.safety.line import Line, rests_on

RED_ABOVE_PCT = 5.0
"""Red from five percent above the recommended maximum (the house's rule, design section 5)."""

MEASURE = (
    "Measure the empty socket at this setting before the part goes in; power off before you fit it, "
    "pin 1 to the mark."
)


def supply_lines(
    state: State, sheet: BoardSheet, part: Processor | None, *, all_rails: bool = False
) -> list[Line]:
    """Lines for the volts set, or for each rail the board can give when none is set.

    An adapter's own regulator counts before the board's rails. Volts that are disputed are judged both ways.
    """
    if part is None:
        return [
            Line(
                topic="processor",
                verdict=Level.AMBER,
                why="which processor is fitted is not known: nothing of its supply, heat and clock was judged",
                caution="Read the marking on the part itself before power.",
            )
        ]
    if part.ambiguous:
        rows = ", ".join(part.ambiguous[:6])
        return [
            Line(
                topic="marking",
                verdict=Level.AMBER,
                why=f'"{part.id}" is sold for different volts or ratios ({rows}): the marking decides',
                caution="Read the marking on the part itself before power.",
            ),
            *_lines(state, sheet, part, all_rails),
        ]
    return list(_lines(state, sheet, part, all_rails))


def _lines(state: State, sheet: BoardSheet, part: Processor, all_rails: bool) -> Iterator[Line]:
    nominal = part.v_typ or part.v_max
    if nominal is None:
        yield Line(
            topic="core_volts",
            verdict=Level.AMBER,
            why=f"the volts of {part.id} are not known here",
            caution=f"Find its marking and data sheet first. {MEASURE}",
        )
        return
    rails = _rails(state, sheet)
    if not rails and _without_regulator(sheet):
        if nominal >= LEAST_OF_FIVE:
            return  # Nothing to set and nothing to measure that could be wrong: the part is made for the plane.
        rails = [(Rail(v="5"), False)]
    if not rails:
        yield Line(
            topic="core_volts",
            verdict=Level.AMBER,
            why=f"{part.id} takes {_range(part, nominal)}; what this board gives it is not known",
            value=unknown("V", "neither set nor measured, and no rail is on the sheet"),
            caution=MEASURE,
        )
        return
    limit = (part.v_max or nominal) * (1 + RED_ABOVE_PCT / 100)
    others: list[Rail] = []
    if all_rails and any(float(rail.v) >= limit for rail, _ in rails):
        here = [float(rail.v) for rail, _ in rails]
        others = [r for r in sheet.rails if not any(_same(float(r.v), v) for v in here)]
    unsaid = len(rails) > 1 and state.value("core_v") is None and adapter_of(state.settings, sheet) is None
    for rail, measured in rails:
        for line in _rail_lines(rail, measured, nominal, state, sheet, part):
            yield _if_set(line, rail) if unsaid else line
    for rail in others:
        for line in _rail_lines(rail, False, nominal, state, sheet, part):
            yield msgspec.structs.replace(line, why=f"if set to {rail.v} V instead: {line.why}")


FIVE_VOLT_CLASSES = ("286", "386")
"""Boards whose processor socket hangs on the 5 V plane, without a regulator between. Common practice, no source."""
LEAST_OF_FIVE = 4.75
"""Nominal volts from which a part is made for the 5 V plane: 5 V less the five percent of the rail."""


def _without_regulator(sheet: BoardSheet) -> bool:
    """Whether the core can only be on the 5 V plane, as far as class and sheet say."""
    text = sheet.board_class.lower().replace("-", "").replace(" ", "")
    return text.startswith(FIVE_VOLT_CLASSES)


def _if_set(line: Line, rail: Rail) -> Line:
    """A line of one rail of several where nobody said which of them feeds the core."""
    why = f"if the core gets {rail.v} V, which is not known: {line.why}"
    caution = f"{line.caution} {MEASURE}" if line.verdict is Level.RED else line.caution
    return msgspec.structs.replace(line, why=why, caution=caution)


def _rails(state: State, sheet: BoardSheet) -> list[tuple[Rail, bool]]:
    """The supplies to judge, each with whether it was measured."""
    said = state.get("core_v")
    adapter = adapter_of(state.settings, sheet)
    if said.value is not None:
        measured = said.source is Source.MEASURED
        volts = [said.value]
        if said.against and said.status is Status.DISPUTED:
            volts.append(said.against)
        return [(Rail(v=v, amps=_amps(v, sheet, adapter)), measured) for v in volts]
    if adapter is not None:
        return [(Rail(v=adapter.v, amps=adapter.amps), False)]
    return [(rail, False) for rail in sheet.rails]


def _amps(volts: str, sheet: BoardSheet, adapter: Interposer | None) -> float | None:
    """What the supply of these volts can give: the adapter's, or the rail that they are."""
    if adapter is not None:
        return adapter.amps
    near = [r for r in sheet.rails if _same(float(r.v), float(volts))]
    if near:
        return min(near, key=lambda r: abs(float(r.v) - float(volts))).amps
    return sheet.rails[0].amps if len(sheet.rails) == 1 else None


def _same(a: float, b: float) -> bool:
    """A rail read on a meter is the rail that the sheet names."""
    return abs(a - b) <= SAME_VOLTS_MEASURED * max(a, b)


def _rail_lines(
    rail: Rail, measured: bool, nominal: float, state: State, sheet: BoardSheet, part: Processor
) -> Iterator[Line]:
    volts = float(rail.v)
    recommended = part.v_max if part.v_max is not None else nominal
    over = change_pct(volts, nominal)
    power = change_pct(volts**2, nominal**2)
    sure = part.certainty.get("v_max", part.certainty.get("v_typ", ""))
    limit = Quantity(value=recommended, unit="V", source=Source.READ, why=f"recommended maximum, {sure}")
    value = Quantity(value=volts, unit="V", source=Source.MEASURED if measured else Source.DECLARED)
    watts = None if part.watts is None else _watts(part, nominal, volts, state, sheet)
    red = volts >= recommended * (1 + RED_ABOVE_PCT / 100) - 1e-9
    only_most = part.v_typ is None and part.v_min is None
    least = part.v_min if part.v_min is not None else nominal * (1 - RED_ABOVE_PCT / 100)
    low = not only_most and volts < least - 1e-9
    heat = f", power {power:+.0f} %" + (f" ({watts:.1f} W)" if watts is not None else "")
    if only_most and volts <= nominal:
        why = f"{part.id} takes {_range(part, nominal)}; {volts:g} V is not above that"
    else:
        why = f"{part.id} takes {_range(part, nominal)}; {volts:g} V is {over:+.1f} % volts{heat}"
    caution = MEASURE
    verdict = Level.GREEN if measured else Level.AMBER
    if part.v_abs is not None and volts > part.v_abs:
        why += f"; the absolute maximum is {part.v_abs:g} V"
        verdict, caution = Level.RED, "This kills the part. Do not power it at this setting."
    elif red:
        why += rests_on(sure)
        verdict, caution = Level.RED, "This can kill the part at once or over hours. Set lower volts first."
    elif volts > recommended:
        why += "; above the recommended maximum"
        verdict = Level.AMBER
    elif low:
        why += "; below the recommended minimum: it may not start or may fail under load, which is no damage"
        verdict = Level.AMBER
    elif not measured:
        why += "; not measured at the empty socket yet"
    yield Line(
        topic="core_volts",
        verdict=verdict,
        why=why,
        value=value,
        limit=limit,
        over_pct=over,
        power_pct=power,
        caution=caution if verdict is not Level.GREEN else "",
        certainty=sure,
    )
    yield from _amps_line(rail, nominal, state, sheet, part)
    if part.watts is not None:
        yield _heat_line(watts, part) if watts is not None else _beyond_formula("heat", volts, nominal)


def _range(part: Processor, nominal: float) -> str:
    if part.v_min is not None and part.v_max is not None:
        return f"{part.v_min:g} to {part.v_max:g} V (nominal {nominal:g})"
    return f"{nominal:g} V" if part.v_typ is not None else f"at most {nominal:g} V"


def _scale_clock(part: Processor, state: State, sheet: BoardSheet) -> tuple[float, float]:
    """Rated clock and the clock of this state; equal when either is not known."""
    core = clocks(state, sheet, part)["core_mhz"].mhz
    if core is None or part.rated_mhz is None:
        return 1.0, 1.0
    return float(part.rated_mhz), float(core)


def _watts(part: Processor, nominal: float, volts: float, state: State, sheet: BoardSheet) -> float | None:
    """Heat at these volts and this clock; ``None`` outside of what the formula covers."""
    assert part.watts is not None
    mhz, to_mhz = _scale_clock(part, state, sheet)
    try:
        return scaled_watts(part.watts, volts=nominal, to_volts=volts, mhz=mhz, to_mhz=to_mhz)
    except LeadoffError:
        return None


def _amperes(part: Processor, nominal: float, volts: float, state: State, sheet: BoardSheet) -> float | None:
    """Current at these volts and this clock; ``None`` outside of what the formula covers."""
    assert part.amps is not None
    mhz, to_mhz = _scale_clock(part, state, sheet)
    try:
        return scaled_amps(part.amps, volts=nominal, to_volts=volts, mhz=mhz, to_mhz=to_mhz)
    except LeadoffError:
        return None


def _beyond_formula(topic: str, volts: float, nominal: float) -> Line:
    """So far from what the part is made for that no figure would mean anything."""
    over = volts > nominal
    return Line(
        topic=topic,
        verdict=Level.RED if over else Level.AMBER,
        why=f"{volts:g} V is too far from the part's {nominal:g} V, or the clock from its rating, to reckon with",
        caution="Do not power it at this setting." if over else "Expect no start.",
    )


def _amps_line(
    rail: Rail, nominal: float, state: State, sheet: BoardSheet, part: Processor
) -> Iterator[Line]:
    if part.amps is None:
        return
    amps = _amperes(part, nominal, float(rail.v), state, sheet)
    if amps is None:
        yield _beyond_formula("rail_amps", float(rail.v), nominal)
        return
    value = Quantity(value=amps, unit="A", source=Source.COMPUTED)
    if rail.amps is None:
        yield Line(
            topic="rail_amps",
            verdict=Level.AMBER,
            why=f"{amps:.1f} A at {rail.v} V; what this rail can give is not on the sheet",
            value=value,
            caution="Feel for heat at the regulator in the first minutes, power off at once if it smells.",
        )
        return
    over = change_pct(amps, rail.amps)
    yield Line(
        topic="rail_amps",
        verdict=Level.RED if over > 0 else Level.GREEN,
        why=f"{amps:.1f} A at {rail.v} V on a rail laid out for {rail.amps:.1f} A",
        value=value,
        limit=Quantity(value=rail.amps, unit="A", source=Source.DECLARED),
        over_pct=over,
        caution="The regulator overheats; it fails with full input volts at the processor."
        if over > 0
        else "",
        certainty="declared",
    )


def _heat_line(watts: float, part: Processor) -> Line:
    assert part.watts is not None
    over = change_pct(watts, part.watts)
    case = f", case at most {part.case_max_c:g} C" if part.case_max_c is not None else ""
    sure = part.certainty.get("watts", "")
    return Line(
        topic="heat",
        verdict=Level.AMBER if over > RED_ABOVE_PCT else Level.GREEN,
        why=f"{watts:.1f} W against {part.watts:.1f} W by its sheet{case}",
        value=Quantity(value=watts, unit="W", source=Source.COMPUTED),
        limit=Quantity(value=part.watts, unit="W", source=Source.READ, why=sure),
        over_pct=over,
        caution="More heat than the sheet plans for: better cooling, and a case reading." if over > 5 else "",
        certainty=sure,
    )
