"""Watts and amps of a processor at another voltage and clock."""

from __future__ import annotations

import msgspec

from leadoff.electrical.errors import within

# Ratios beyond these leave the region where a part that was made for one point still works as CMOS switching
# a fixed capacitance; they are limits of the formula, not of any part.
_VOLT_RATIO = (0.5, 2.0)
_CLOCK_RATIO = (0.0, 4.0)
_WHY = "P = C V^2 f describes one part near the point it was made for"


def scaled_watts(
    watts: float,
    *,
    volts: float,
    to_volts: float,
    mhz: float = 1.0,
    to_mhz: float = 1.0,
    dynamic_share: float = 1.0,
) -> float:
    """Watts at ``to_volts`` and ``to_mhz`` when the part draws ``watts`` at ``volts`` and ``mhz``.

    P' = P [ a (V'/V)^2 (f'/f) + (1 - a) (V'/V) ], a = ``dynamic_share`` (1 for CMOS of this age, whose
    leakage is small; the rest is a constant current, from pull-ups and input stages).
    Good for V'/V of 0.5 to 2 and f'/f up to 4. Source: CMOS switching loss C V^2 f; any text on digital
    circuits. Checked against two published pairs in ``tests/electrical/test_power.py``.
    """
    within("watts", watts, 0.0, 1000.0, "W", "a board's rails carry no more")
    share = within("dynamic_share", dynamic_share, 0.0, 1.0, "of 1", "it is a share")
    v, f = _ratios(volts, to_volts, mhz, to_mhz)
    return watts * (share * v * v * f + (1.0 - share) * v)


def scaled_amps(
    amps: float, *, volts: float, to_volts: float, mhz: float = 1.0, to_mhz: float = 1.0
) -> float:
    """Amps at ``to_volts`` and ``to_mhz``: I = C V f for a fixed C, so I' = I (V'/V) (f'/f).

    Same range of validity as ``scaled_watts``.
    """
    within("amps", amps, 0.0, 200.0, "A", "a board's rails carry no more")
    v, f = _ratios(volts, to_volts, mhz, to_mhz)
    return amps * v * f


def change_pct(value: float, reference: float) -> float:
    """By how many per cent ``value`` lies above ``reference`` (negative: below)."""
    within("reference", reference, 1e-9, 1e9, "of its unit", "a change needs something to differ from")
    return 100.0 * (value / reference - 1.0)


def over_volts_pct(volts: float, limit_volts: float) -> float:
    """Per cent above the limit, 0 at or below it. ``limit_volts`` is a recommended or absolute maximum."""
    within("volts", volts, 0.0, 15.0, "V", "a processor rail is meant")
    return max(0.0, change_pct(volts, limit_volts))


class AgainstRange(msgspec.Struct, frozen=True, kw_only=True):
    """A set voltage against a part's range. Per cent over the recommended and the absolute maximum (0: not over),
    under the recommended minimum, and watts as a multiple of those at the middle of the range."""

    over_recommended_pct: float
    over_absolute_pct: float | None
    under_pct: float
    power_ratio: float


def against_range(
    volts: float, *, low_volts: float, high_volts: float, absolute_volts: float | None = None
) -> AgainstRange:
    """How far a voltage jumper is from what the part is made for. Distances only: ``safety`` judges.

    ``low_volts`` to ``high_volts`` is the recommended range; heat goes with the square of the voltage. 0.5 to 15 V,
    ratio of 0.5 to 2. Source: the part's own data sheet for the range; CMOS switching loss C V^2 f for the heat.
    """
    within("low_volts", low_volts, 0.5, high_volts, "V", "the lower end of the range")
    middle = (low_volts + high_volts) / 2.0
    return AgainstRange(
        over_recommended_pct=over_volts_pct(volts, high_volts),
        over_absolute_pct=None if absolute_volts is None else over_volts_pct(volts, absolute_volts),
        under_pct=max(0.0, 100.0 * (1.0 - volts / low_volts)),
        power_ratio=scaled_watts(1.0, volts=middle, to_volts=volts),
    )


def _ratios(volts: float, to_volts: float, mhz: float, to_mhz: float) -> tuple[float, float]:
    within("volts", volts, 0.5, 15.0, "V", "a processor rail is meant")
    within("mhz", mhz, 0.01, 10_000.0, "MHz", "a processor clock is meant")
    v = within("to_volts / volts", to_volts / volts, *_VOLT_RATIO, "of 1", _WHY)
    f = within("to_mhz / mhz", to_mhz / mhz, *_CLOCK_RATIO, "of 1", _WHY)
    return v, f
