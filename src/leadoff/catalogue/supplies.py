"""Rows for what feeds and clocks a board: regulators, supplies, interposers, clocks and clock parts."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from leadoff.catalogue.row import Amps, Celsius, Count, Headroom, Row, Volts, Watts


class RegulatorRow(Row, frozen=True, kw_only=True):
    """A regulator class. Thermal resistances in K/W; ``control`` values belong to a control pin."""

    names: tuple[str, ...] = ()
    kind: Literal["linear", "switching"]
    package: str = ""
    amps: Amps | None = None
    dropout_v: Headroom | None = None
    control_dropout_v: Headroom | None = None
    control_current_share: float | None = None
    v_in_max: Headroom | None = None
    v_ref: Volts | None = None
    adjust_amps: float | None = None
    minimum_load_amps: float | None = None
    junction_max_c: Celsius | None = None
    junction_case_k_w: float | None = None
    control_junction_case_k_w: float | None = None
    junction_ambient_k_w: float | None = None


class SupplyRow(Row, frozen=True, kw_only=True):
    """A supply class: by rail, the amperes it can give and the minimum load it needs."""

    names: tuple[str, ...] = ()
    kind: Literal["at", "atx"]
    watts: Watts | None = None
    amps_by_rail: Mapping[str, float] = {}
    minimum_amps_by_rail: Mapping[str, float] = {}
    tolerance_pct_by_rail: Mapping[str, float] = {}
    power_good_min_ms: float | None = None
    power_good_max_ms: float | None = None
    rule: str = ""


class InterposerRow(Row, frozen=True, kw_only=True):
    """A socket interposer: plain (volts only), or with ratio straps of its own."""

    names: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    regulates: bool
    ratio_straps: bool
    v_out: tuple[Volts, ...] = ()
    amps: Amps | None = None
    rule: str = ""


class ClockRow(Row, frozen=True, kw_only=True):
    """A nominal clock as an exact fraction, with the ways it is spoken and printed."""

    names: tuple[str, ...] = ()
    mhz: Fraction
    use: str = ""


class ClockPartRow(Row, frozen=True, kw_only=True):
    """A clock and set-up RAM part: bytes in all and for the user, clear pin, where the cell connects."""

    names: tuple[str, ...] = ()
    kind: Literal["discrete", "sealed-module"]
    bytes: Count
    user_bytes: Count
    century_byte: str = ""
    clear_pin: Count | None = None
    clear_when: Literal["power-off", "power-on"] | None = None
    cell_pins: tuple[Count, ...] = ()
    v_cell_min: Volts | None = None
    rule: str = ""
