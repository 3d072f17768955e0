"""States between two others: some factors as in the first, the rest as in the second."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction

import msgspec

from leadoff.forecast.facts import Setup
from leadoff.forecast.why import BUS, CORE, SIDES, Changed, side_setting
from leadoff.record.state import UNKNOWN_SETTING, Setting, State


def hybrid(a: Setup, b: Setup, factors: Sequence[Changed], taken: Collection[str]) -> Setup:
    """The state of ``a`` with the ``taken`` factors as in ``b``. Side clocks follow the bus clock that the
    hybrid has, by the ratio of the state they are taken from."""
    settings: dict[str, Setting] = dict(a.state.settings)
    for factor in factors:
        if factor.factor in taken:
            for name in factor.settings:
                settings[name] = b.state.settings.get(name, UNKNOWN_SETTING)
    part = b.processor if "cpu" in taken else a.processor
    return Setup(
        sheet=a.sheet,
        state=State(board=a.board, settings=settings),
        clocks=_clocks(a, b, factors, taken, part.l2_clock if part is not None else None),
        processor=part,
        tag=a.tag,
    )


def _clocks(
    a: Setup, b: Setup, factors: Sequence[Changed], taken: Collection[str], l2_ratio: Fraction | None
) -> Mapping[str, Fraction | None]:
    core = (b if CORE in taken else a).clocks.get("core_mhz")
    bus = (b if BUS in taken else a).clocks.get("bus_mhz")
    out: dict[str, Fraction | None] = {"core_mhz": core, "bus_mhz": bus}
    named = {f.factor for f in factors}
    for side in SIDES:
        name, factor = f"{side}_mhz", side_setting(side)
        # Without a ratio of its own the side clock comes with the bus clock, whatever table makes it.
        own = b if (factor in taken if factor in named else BUS in taken) else a
        clock, over = own.clocks.get(name), own.clocks.get("bus_mhz")
        if name in a.clocks or name in b.clocks:
            out[name] = clock / over * bus if clock and over and bus else clock
    if "vlb_mhz" in a.clocks or "vlb_mhz" in b.clocks:
        out["vlb_mhz"] = bus
    if l2_ratio is not None and core is not None:
        out["l2_mhz"] = core * l2_ratio
    return out


def with_value(setup: Setup, name: str, value: Setting) -> Setup:
    """The same state with one setting other than declared; clocks stay."""
    state = State(board=setup.board, settings={**setup.state.settings, name: value})
    return msgspec.structs.replace(setup, state=state)
