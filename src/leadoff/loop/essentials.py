"""What every answer about a board rests on, and what of it nobody ever said."""

from __future__ import annotations

import msgspec

from leadoff.forecast.facts import Setup
from leadoff.machine.effects import carriers
from leadoff.record.settings import in_words
from leadoff.record.state import UNKNOWN_SETTING, State

NEVER_SAID = "never said"
_FIXED_VOLTS = ("286", "386", "slot", "socket370", "slota")  # 5 V, or the part itself asks for its volts
_CACHE_ON_PART = ("slot", "socket370", "286")


def never_said(setup: Setup) -> tuple[str, ...]:
    """Settings that the forecast, the card or the moves need and that neither file nor user mentioned."""
    state, sheet = setup.state, setup.sheet
    kind = sheet.board_class.lower()
    wanted = ["cpu", "ram_mb"]
    if not any(state.value(n) for n in ("core_v", "interposer")) and len(sheet.rails) != 1:
        wanted += [] if kind.startswith(_FIXED_VOLTS) else ["core_v"]
    if not kind.startswith(_CACHE_ON_PART):
        wanted.append("l2_kb")
    if setup.clock("bus_mhz") is None:
        wanted.append("bus_mhz")
    if state.value("cpu") and setup.clock("core_mhz") is None:
        wanted.append("ratio")
    return tuple(sorted(n for n in wanted if n not in state.settings))


def unknown_of(setup: Setup) -> tuple[str, ...]:
    """All that is not known: written down as unknown, or never said and needed."""
    return tuple(sorted({*setup.state.unknown_names(), *never_said(setup)}))


def to_look_up(setup: Setup) -> tuple[str, ...]:
    """The same in words; a jumper or an entry goes with the setting that it acts on, and is not named twice."""
    unknown = unknown_of(setup)
    same = {c.id for c in carriers(setup.sheet) if not c.sets.keys().isdisjoint(unknown)}
    return tuple(in_words(n) for n in unknown if n not in same)


def with_never_said(setup: Setup) -> State:
    """The state for people: what was never said stands there as unknown. It is never stored so."""
    blank = msgspec.structs.replace(UNKNOWN_SETTING, why=NEVER_SAID)
    missing = {name: blank for name in never_said(setup)}
    return State(board=setup.state.board, settings={**missing, **setup.state.settings})
