"""The catalogue: parts and their limits, each value with unit, source and certainty.

``load`` gives a ``Catalogue``; its rows come from the TOML files beside this module and from files of the
user's own, which win. Constants of the trade live here and not in code. See docs/architecture.md.
"""

from leadoff.catalogue.catalogue import Catalogue
from leadoff.catalogue.chipsets import BusLimitRow, CardRow, ChipsetRow, DramPattern, TagMode
from leadoff.catalogue.load import load
from leadoff.catalogue.memories import DramRow, ModuleRow, SramRow, TagRow
from leadoff.catalogue.origin import Certainty, Origin, SourceRow
from leadoff.catalogue.processors import CoreRow, CpuRow, SignatureRow
from leadoff.catalogue.row import Row
from leadoff.catalogue.supplies import ClockPartRow, ClockRow, InterposerRow, RegulatorRow, SupplyRow

__all__ = [
    "BusLimitRow", "CardRow", "Catalogue", "Certainty", "ChipsetRow", "ClockPartRow", "ClockRow", "CoreRow",
    "CpuRow", "DramPattern", "DramRow", "InterposerRow", "ModuleRow", "Origin", "RegulatorRow", "Row",
    "SignatureRow", "SourceRow", "SramRow", "SupplyRow", "TagMode", "TagRow", "load",
]  # fmt: skip
