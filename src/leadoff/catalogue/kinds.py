"""The kinds of row a file may hold: word in the file, row type, and where the catalogue keeps them."""

from __future__ import annotations

from typing import NamedTuple

from leadoff.catalogue.chipsets import BusLimitRow, CardRow, ChipsetRow
from leadoff.catalogue.memories import DramRow, ModuleRow, SramRow, TagRow
from leadoff.catalogue.processors import CoreRow, CpuRow, SignatureRow
from leadoff.catalogue.row import Row
from leadoff.catalogue.supplies import ClockPartRow, ClockRow, InterposerRow, RegulatorRow, SupplyRow


class Kind(NamedTuple):
    """Row type and the name of the catalogue's mapping for it."""

    type: type[Row]
    field: str


KINDS: dict[str, Kind] = {
    "cpu": Kind(CpuRow, "cpus"),
    "core": Kind(CoreRow, "cores"),
    "signature": Kind(SignatureRow, "signatures"),
    "sram": Kind(SramRow, "srams"),
    "tag": Kind(TagRow, "tags"),
    "dram": Kind(DramRow, "drams"),
    "module": Kind(ModuleRow, "modules"),
    "chipset": Kind(ChipsetRow, "chipsets"),
    "bus": Kind(BusLimitRow, "buses"),
    "card": Kind(CardRow, "cards"),
    "regulator": Kind(RegulatorRow, "regulators"),
    "supply": Kind(SupplyRow, "supplies"),
    "interposer": Kind(InterposerRow, "interposers"),
    "clock": Kind(ClockRow, "clocks"),
    "clock_part": Kind(ClockPartRow, "clock_parts"),
}
