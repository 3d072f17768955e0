"""Published limits that belong to no part, read from ``limits.toml``: each with its source and how it is known."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import msgspec


class PowerGoodLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Shortest and longest believable delay of the power-good line after the rails are up."""

    delay_min_ms: float
    delay_max_ms: float
    source: str
    certainty: str


class RailLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Tolerance of a positive rail."""

    tolerance_pct: float
    source: str
    certainty: str


class RailLimit(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Tolerances of one rail: ``good_pct`` the tighter figure, ``out_pct`` the wider one."""

    nominal_v: float
    good_pct: float
    out_pct: float
    source: str
    certainty: str


class PowerGoodLevel(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Volts of the power-good line."""

    low_max_v: float
    high_min_v: float
    high_max_v: float
    source: str
    certainty: str


class GroundLimit(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Ohms from a rail to ground on the bare board."""

    rail: str
    short_ohms: float
    suspect_ohms: float
    usual: str
    source: str
    certainty: str


class RegulatorCase(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Thermal resistances and limits of the two sections of a three-terminal regulator."""

    control_jc_c_per_w: float
    control_max_c: float
    output_jc_c_per_w: float
    output_max_c: float
    compound_c_per_w: float
    bare_c_per_w: float
    source: str
    certainty: str


class Limits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The rows of ``limits.toml``."""

    power_good: PowerGoodLimits
    rail: RailLimits
    rail_limit: tuple[RailLimit, ...]
    power_good_level: PowerGoodLevel
    ground: tuple[GroundLimit, ...]
    regulator_case: RegulatorCase


@lru_cache(maxsize=1)
def supply_limits() -> Limits:
    """The published limits, read once."""
    return msgspec.toml.decode(files("leadoff.electrical").joinpath("limits.toml").read_bytes(), type=Limits)
