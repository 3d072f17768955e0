"""Volts, amps, watts, heat and cell life: pure functions, each with its source and range of validity.

Every function raises ``LeadoffError`` (code ``out-of-range``) for a figure outside of that range.
"""

from leadoff.electrical.cell import cell_years
from leadoff.electrical.power import change_pct, over_volts_pct, scaled_amps, scaled_watts
from leadoff.electrical.regulator import Heat, divider_amps, linear_heat
from leadoff.electrical.supply import (
    PowerGood,
    Rail,
    RailLoad,
    dummy_load_ohms,
    dummy_load_watts,
    power_good,
    rail_load,
    rail_ok,
)
from leadoff.electrical.thermal import (
    Section,
    SectionHeat,
    allowed_watts,
    junction_c,
    sections,
    sink_needed_c_per_w,
)

__all__ = [
    "Heat",
    "PowerGood",
    "Rail",
    "RailLoad",
    "Section",
    "SectionHeat",
    "allowed_watts",
    "cell_years",
    "change_pct",
    "divider_amps",
    "dummy_load_ohms",
    "dummy_load_watts",
    "junction_c",
    "linear_heat",
    "over_volts_pct",
    "power_good",
    "rail_load",
    "rail_ok",
    "scaled_amps",
    "scaled_watts",
    "sections",
    "sink_needed_c_per_w",
]
