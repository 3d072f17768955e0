"""Rows for chipset classes: what a board of the class can express, and its own limits."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

import msgspec

from leadoff.catalogue.row import Count, Kilobytes, Megabytes, Pattern, Row


class DramPattern(msgspec.Struct, frozen=True, kw_only=True):
    """Clocks of a read in bus clocks: page hit, row miss (bank closed) and page miss (other row open)."""

    kind: Literal["fpm", "edo", "sdram"]
    mhz: Fraction | None = None
    ns: float | None = None
    hit: Pattern
    row_miss: Pattern | None = None
    page_miss: Pattern | None = None
    back_to_back: str = ""


class TagMode(msgspec.Struct, frozen=True, kw_only=True):
    """One way to wire the tag: bits that compare an address, bits that hold the dirty mark."""

    policy: Literal["wt", "wb"]
    tag: Count
    dirty: Count = 0


class ChipsetRow(Row, frozen=True, kw_only=True):
    """A chipset class, under a trade name of our own.

    ``read_hit`` and ``write_hit`` are by SRAM kind; an absent kind cannot be fitted. ``cacheable_mb`` is the
    chipset's own limit, ``cacheable_mb_by_tag`` where it moves with the tag width. ``l1_wb_snoop`` says
    whether the class can carry a write-back processor safely (dirty-hit line wired by the board as well).
    Divider tuples are bus clock over slot clock; ``isa_from`` names the clock that ISA divides.
    """

    names: tuple[str, ...] = ()
    family: Literal["286", "386", "486", "socket4", "socket5-7", "slot1"]
    bus_bits: Literal[16, 32, 64]
    line_bytes: Literal[4, 16, 32] | None = None
    bus_mhz: tuple[Fraction, ...] = ()
    l2_style: Literal["none", "look-aside", "look-through", "on-processor"] | None = None
    l2_kb: tuple[Kilobytes, ...] = ()
    l2_banks: tuple[Literal[1, 2], ...] = ()
    l2_policies: tuple[Literal["wt", "wb"], ...] = ()
    read_hit: Mapping[str, tuple[Pattern, ...]] = {}
    write_hit: Mapping[str, tuple[Pattern, ...]] = {}
    write_waits: tuple[Count, ...] = ()
    tag_modes: tuple[TagMode, ...] = ()
    dirty: Literal["in-tag", "own-chip", "on-chip", "none", "choice"] | None = None
    cacheable_mb: Megabytes | None = None
    cacheable_mb_by_tag: Mapping[str, Megabytes] = {}
    l1_wb_snoop: bool | None = None
    max_mb: Megabytes | None = None
    memory_kinds: tuple[Literal["fpm", "edo", "sdram"], ...] = ()
    dram: tuple[DramPattern, ...] = ()
    dram_waits: tuple[str, ...] = ()
    registers: Mapping[str, str] = {}
    sdram_cas: tuple[Count, ...] = ()
    sdram_trcd_clocks: tuple[Count, ...] = ()
    sdram_trp_clocks: tuple[Count, ...] = ()
    pci_dividers: tuple[Fraction, ...] = ()
    pci_free_running: bool | None = None
    agp_dividers: tuple[Fraction, ...] = ()
    isa_from: Literal["bus", "pci", "clk2"] | None = None
    isa_dividers: tuple[Fraction, ...] = ()
    isa_fixed_mhz: tuple[Fraction, ...] = ()
    vlb: bool | None = None
    timing_model: Literal["A", "B"] | None = None

    def reads(self, kind: str = "async") -> tuple[str, ...]:
        """Read-hit patterns the class can express with this SRAM (empty: not known or not possible)."""
        return self.read_hit.get(kind, ())

    def writes(self, kind: str = "async") -> tuple[str, ...]:
        """Write-hit patterns, as ``reads``."""
        return self.write_hit.get(kind, ())


class BusLimitRow(Row, frozen=True, kw_only=True):
    """The limits of an expansion bus. ``loads_by_mhz`` is how many slots work up to a bus clock."""

    bus: Literal["isa", "vlb", "pci", "agp"]
    max_mhz: Fraction | None = None
    min_mhz: Fraction | None = None
    loads_by_mhz: Mapping[str, Count] = {}
    master_reach_mb: Megabytes | None = None
    dma_reach_mb: Megabytes | None = None
    dma_users: tuple[str, ...] = ()
    rule: str = ""


class CardRow(Row, frozen=True, kw_only=True):
    """A class of expansion card: its bus, whether it becomes bus master, whether it uses the board's DMA."""

    names: tuple[str, ...] = ()
    bus: Literal["isa", "vlb", "pci", "agp"]
    master: bool | None = None
    dma: bool | None = None
    max_mhz: Fraction | None = None
    volts: tuple[float, ...] = ()
    role: str = ""
