"""All lines over a state: the one judge of the house."""

from __future__ import annotations

from leadoff.catalogue import Catalogue
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.marks import Level
from leadoff.record.state import State
from leadoff.safety.clock_lines import ROUNDING_PCT, clock_lines
from leadoff.safety.line import Line
from leadoff.safety.memory_lines import memory_lines
from leadoff.safety.supply_lines import supply_lines
from leadoff.safety.writeback_lines import writeback_lines

_ORDER = list(Level)


def judge(
    state: State,
    sheet: BoardSheet,
    part: Processor | None,
    catalogue: Catalogue,
    *,
    all_rails: bool = False,
) -> tuple[Line, ...]:
    """Every topic that can be judged, the gravest first. Unknown values give amber lines, not green ones.

    ``all_rails``: judge every supply the board can give when the one that is set does not suit the part.
    """
    lines = [
        *supply_lines(state, sheet, part, all_rails=all_rails),
        *clock_lines(state, sheet, part, catalogue),
        *memory_lines(state, sheet, part),
        *writeback_lines(state, sheet, part, catalogue),
    ]
    return tuple(sorted(lines, key=lambda line: _ORDER.index(line.verdict)))


def outside_limit(line: Line) -> bool:
    """Whether a line's value lies beyond its limit: every such red, and the part's own clocks above rating."""
    if line.over_pct is None or line.over_pct <= 0:
        return False
    return line.verdict is Level.RED or (
        line.topic in ("core_clock", "l2_clock") and line.over_pct > ROUNDING_PCT
    )


def beyond(lines: tuple[Line, ...]) -> list[dict[str, object]]:
    """What lies outside a limit, as the contract lists it."""
    return [
        {
            "what": line.topic,
            "value": line.value,
            "limit": line.limit,
            "over_pct": line.over_pct,
            "power_pct": line.power_pct,
            "text": line.why,
            "certainty": line.certainty,
        }
        for line in lines
        if outside_limit(line)
    ]
