"""Volts, amps, watts, heat and cell life: pure functions, each with its source and range of validity.

Every function raises ``LeadoffError`` (code ``out-of-range``) for a figure outside of that range.
"""

from leadoff.electrical.cell import SHELF_YEARS, blocking_ohms, cell_years, drain_from_drop_ua, may_be_fitted
from leadoff.electrical.ground import Verdict, power_good_level, rail_state, to_ground
from leadoff.electrical.inrush import Inrush, emptied_seconds, inrush, plus_goes_to, tantalum_volts_needed
from leadoff.electrical.power import (
    AgainstRange,
    against_range,
    change_pct,
    over_volts_pct,
    scaled_amps,
    scaled_watts,
)
from leadoff.electrical.regulator import Heat, SinkNeeded, divider_amps, linear_heat, regulator_sink
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
    case_to_air_needed_c_per_w,
    highest_air_c,
    junction_c,
    sections,
    sink_needed_c_per_w,
)

__all__ = [
    "SHELF_YEARS",
    "AgainstRange",
    "Heat",
    "Inrush",
    "PowerGood",
    "Rail",
    "RailLoad",
    "Section",
    "SectionHeat",
    "SinkNeeded",
    "Verdict",
    "against_range",
    "allowed_watts",
    "blocking_ohms",
    "case_to_air_needed_c_per_w",
    "cell_years",
    "change_pct",
    "divider_amps",
    "drain_from_drop_ua",
    "dummy_load_ohms",
    "dummy_load_watts",
    "emptied_seconds",
    "highest_air_c",
    "inrush",
    "junction_c",
    "linear_heat",
    "may_be_fitted",
    "over_volts_pct",
    "plus_goes_to",
    "power_good",
    "power_good_level",
    "rail_load",
    "rail_ok",
    "rail_state",
    "regulator_sink",
    "scaled_amps",
    "scaled_watts",
    "sections",
    "sink_needed_c_per_w",
    "tantalum_volts_needed",
    "to_ground",
]
