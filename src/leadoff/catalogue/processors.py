"""Rows for processors: core designs, markings, and the signatures that hardware returns."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from leadoff.catalogue.row import Amps, Celsius, Count, Kilobytes, Row, Volts, Watts

Policy = Literal["none", "wt", "wb", "wt-or-wb"]
Family = Literal["286", "386", "486", "socket4", "socket5-7", "slot1", "socket370"]


class CoreRow(Row, frozen=True, kw_only=True):
    """A core design: what all its markings share.

    ``ratio_pins`` names the strap pins, first letter of each code in ``ratios`` first; ``pin_open`` is the
    level an unwired pin is read as. ``can_per_bus`` is 2 where the clock can runs at twice the bus clock.
    ``l1_policy`` ``wt-or-wb`` means that a pin or a register chooses.
    """

    names: tuple[str, ...] = ()
    family: Family
    isa_level: Literal[2, 3, 4, 5, 6]
    fpu: bool | None = None
    mmx: bool | None = None
    bus_bits: Literal[16, 32, 64] | None = None
    address_bits: Literal[24, 26, 32, 36] | None = None
    can_per_bus: Literal[1, 2] | None = None
    ratio_pins: tuple[str, ...] = ()
    pin_open: Literal["0", "1"] | None = None
    ratios: Mapping[str, Fraction] = {}
    fixed_ratio: Fraction | None = None
    l1_kb: Kilobytes | None = None
    l1_code_kb: Kilobytes | None = None
    l1_data_kb: Kilobytes | None = None
    l1_ways: Count | None = None
    l1_line_bytes: Literal[4, 16, 32] | None = None
    l1_policy: Policy | None = None
    l1_off_at_reset: bool | None = None
    write_allocate: bool | None = None
    needs_snoop: Literal["no", "invalidate", "dirty-hit"] | None = None


class CpuRow(Row, frozen=True, kw_only=True):
    """A processor at the level of its marking or ordering code, in volts, amperes, watts, megahertz, Celsius.

    ``names`` are what it is sold and spoken of as; several rows may share one, and then a name is not enough.
    ``v_min`` .. ``v_max`` is the recommended range, ``v_abs`` the absolute maximum. ``amps`` and ``watts``
    are maxima at ``v_max`` (or ``v_typ``) and rated clock. ``straps`` or ``ratios`` are given only where the
    part differs from its core design; ``locked`` is a ratio that straps do not move. ``l2_per_core`` and
    ``l2_per_bus`` are the clock of a cache that the part carries, as a fraction of the core or bus clock,
    ``l2_fixed_mhz`` a fixed one. ``rating`` is the number in the name where it is not the clock.
    """

    names: tuple[str, ...] = ()
    markings: tuple[str, ...] = ()
    core: str = ""
    sockets: tuple[str, ...] = ()
    v_min: Volts | None = None
    v_typ: Volts | None = None
    v_max: Volts | None = None
    v_abs: Volts | None = None
    v_io: Volts | None = None
    amps: Amps | None = None
    watts: Watts | None = None
    watts_typ: Watts | None = None
    watts_at_mhz: Fraction | None = None
    watts_at_v: Volts | None = None
    case_max_c: Celsius | None = None
    rated_mhz: Fraction | None = None
    rated_bus_mhz: Fraction | None = None
    rating: str = ""
    straps: Mapping[str, Fraction] = {}
    ratios: tuple[Fraction, ...] = ()
    locked: Fraction | None = None
    l1_kb: Kilobytes | None = None
    l1_policy: Policy | None = None
    fpu: bool | None = None
    l2_kb: Kilobytes | None = None
    l2_per_core: Fraction | None = None
    l2_per_bus: Fraction | None = None
    l2_fixed_mhz: Fraction | None = None
    l2_rated_mhz: Fraction | None = None
    l2_cacheable_mb: Count | None = None

    @property
    def v_recommended_max(self) -> float | None:
        """Upper end of the recommended range; the typical voltage where the row holds nothing better."""
        return self.v_max if self.v_max is not None else self.v_typ


class SignatureRow(Row, frozen=True, kw_only=True):
    """What the identification instruction (or DX at reset) returns, with its vendor string.

    ``code`` is type, family, model and stepping as four hex digits, where ``x`` stands for any digit.
    ``vendor`` is empty where the part has no such instruction. ``cache`` says what the signature tells of
    the write policy sampled at reset: it reports a pin, not whether the board snoops.
    """

    code: str
    vendor: str = ""
    cores: tuple[str, ...] = ()
    meaning: str = ""
    cache: Literal["wb", "wt"] | None = None
    ratio: Fraction | None = None

    def matches(self, code: str) -> bool:
        """Whether a four-digit hex code fits."""
        typed = code.lower().removeprefix("0x").zfill(4)
        return len(typed) == 4 and all(a in ("x", b) for a, b in zip(self.code.lower(), typed, strict=True))
