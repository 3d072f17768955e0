"""Rows for cache SRAM, tag parts, DRAM grades and memory modules. Nanoseconds everywhere."""

from collections.abc import Mapping
from typing import Literal

from leadoff.catalogue.row import Count, Nanoseconds, Row, Volts


class SramRow(Row, frozen=True, kw_only=True):
    """A cache SRAM grade: ``async`` by access times, ``pb`` (pipelined burst) and ``burst`` by clock."""

    names: tuple[str, ...] = ()
    kind: Literal["async", "burst", "pb"]
    ns: Nanoseconds
    depth: Count | None = None
    bits: Count | None = None
    pins: Count | None = None
    volts: Volts | None = None
    t_aa_ns: Nanoseconds | None = None
    t_oe_ns: Nanoseconds | None = None
    t_wp_ns: Nanoseconds | None = None
    t_sd_ns: Nanoseconds | None = None
    t_hzoe_ns: Nanoseconds | None = None
    t_cd_ns: Nanoseconds | None = None
    t_cyc_ns: Nanoseconds | None = None
    max_bus_mhz: float | None = None
    fit: str = ""


class TagRow(Row, frozen=True, kw_only=True):
    """A tag path part: ``t_match_ns`` from address to MATCH; ``t_pd_ns`` of a discrete part."""

    names: tuple[str, ...] = ()
    kind: Literal["match-sram", "comparator", "latch", "buffer"]
    depth: Count | None = None
    bits: Count | None = None
    tag_bits: Count | None = None
    state_bits: Count | None = None
    pins: Count | None = None
    grades_ns: tuple[Nanoseconds, ...] = ()
    t_match_ns: Nanoseconds | None = None
    t_pd_ns: Nanoseconds | None = None
    max_bus_mhz: float | None = None


class DramRow(Row, frozen=True, kw_only=True):
    """A DRAM grade. ``ns`` is the printed grade: tRAC for FPM and EDO, tCK at the best CAS latency for SDRAM.

    ``t_ck_ns`` and ``t_ac_ns`` are by CAS latency: a latency that is not listed is not specified.
    """

    names: tuple[str, ...] = ()
    kind: Literal["fpm", "edo", "sdram"]
    ns: Nanoseconds
    volts: Volts | None = None
    t_rac_ns: Nanoseconds | None = None
    t_cac_ns: Nanoseconds | None = None
    t_aa_ns: Nanoseconds | None = None
    t_rc_ns: Nanoseconds | None = None
    t_pc_ns: Nanoseconds | None = None
    t_rp_ns: Nanoseconds | None = None
    t_ras_ns: Nanoseconds | None = None
    t_rrd_ns: Nanoseconds | None = None
    t_rcd_ns: Nanoseconds | None = None
    t_rcd_max_ns: Nanoseconds | None = None
    t_ck_ns: Mapping[str, Nanoseconds] = {}
    t_ac_ns: Mapping[str, Nanoseconds] = {}

    def inside(self, clock_mhz: float, cas: int) -> bool | None:
        """Whether an SDRAM clock is inside tCK at this CAS latency; ``None`` when the row cannot say.

        A latency above the highest listed is not specified and gives ``None``. The comparison allows
        1 ps for the rounding of printed periods.
        """
        limit = self.t_ck_ns.get(str(cas))
        return None if limit is None else 1000.0 / clock_mhz >= limit - 1e-3


class ModuleRow(Row, frozen=True, kw_only=True):
    """A memory module form: how many of the same make one bank on a bus of 16, 32 or 64 bits."""

    names: tuple[str, ...] = ()
    pins: Count
    data_bits: Count
    parity_bits: Count | None = None
    per_bank: Mapping[str, Count] = {}
    volts: tuple[Volts, ...] = ()
    kinds: tuple[Literal["fpm", "edo", "sdram"], ...] = ()
    rule: str = ""
    presence_ns: Mapping[str, tuple[Nanoseconds, ...]] = {}
