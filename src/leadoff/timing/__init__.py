"""Cycle patterns and slack, cacheable range and memory clocks: pure functions of the delays given.

Two answers are always kept apart: whether the published maximum delays fit (with a band for what nobody
published), and the chance that the real parts hold. NumPy is loaded only when a chance is computed.
"""

from leadoff.timing.access import access_budget_ns, fill_mb_per_s
from leadoff.timing.belief import Belief, Trial, learn, prior
from leadoff.timing.burst import BurstSram, back_to_back, burst_patterns
from leadoff.timing.cacheable import Cacheable, cacheable
from leadoff.timing.clocks import Clock, as_mhz, clocks_for, period_ns
from leadoff.timing.delays import SramDelays, Terms, budget_terms, bus_ac, sram_of_grade
from leadoff.timing.dram import DramAdds, DramDelays, additive, dram_adds, page_hits
from leadoff.timing.layout import Layout, layout, layouts_for, tag_entries
from leadoff.timing.pattern import Pattern, every_pattern
from leadoff.timing.sdram import CasVerdict, SdramClocks, cas_limits, sdram_clocks, sdram_totals
from leadoff.timing.verdict import (
    Inside,
    LegSlack,
    PatternVerdict,
    fastest_inside,
    fastest_likely,
    patterns,
    writes,
)

__all__ = [
    "Belief",
    "BurstSram",
    "Cacheable",
    "CasVerdict",
    "Clock",
    "DramAdds",
    "DramDelays",
    "Inside",
    "Layout",
    "LegSlack",
    "Pattern",
    "PatternVerdict",
    "SdramClocks",
    "SramDelays",
    "Terms",
    "Trial",
    "access_budget_ns",
    "additive",
    "as_mhz",
    "back_to_back",
    "budget_terms",
    "burst_patterns",
    "bus_ac",
    "cacheable",
    "cas_limits",
    "clocks_for",
    "dram_adds",
    "every_pattern",
    "fastest_inside",
    "fastest_likely",
    "fill_mb_per_s",
    "layout",
    "layouts_for",
    "learn",
    "page_hits",
    "patterns",
    "period_ns",
    "prior",
    "sdram_clocks",
    "sdram_totals",
    "sram_of_grade",
    "tag_entries",
    "writes",
]
