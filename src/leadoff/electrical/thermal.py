"""Temperatures along a chain junction - case - sink - air."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.electrical.errors import within
from leadoff.record.errors import LeadoffError


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """A part of a chip with its own path to the case and its own limit."""

    name: str
    theta_jc_c_per_w: float
    junction_max_c: float


class SectionHeat(msgspec.Struct, frozen=True, kw_only=True):
    """What one section reaches; ``margin_c`` is negative when it is too hot."""

    name: str
    junction_c: float
    margin_c: float


def junction_c(*, ambient_c: float, watts: float, theta_c_per_w: Sequence[float]) -> float:
    """Tj = Ta + P (sum of thermal resistances), steady state.

    ``theta_c_per_w`` lists the chain in degrees per watt (junction-case, case-sink, sink-air; or one
    junction-air figure). Air of -40 to 150 C, up to 200 W.
    Source: the usual series model, for example the LT1083 data sheet, "Thermal Considerations".
    """
    _checked(ambient_c, theta_c_per_w)
    within("watts", watts, 0.0, 200.0, "W", "no single package on a board gives off more")
    return ambient_c + watts * sum(theta_c_per_w)


def allowed_watts(*, ambient_c: float, junction_max_c: float, theta_c_per_w: Sequence[float]) -> float:
    """P = (Tj max - Ta) / (sum of thermal resistances); 0 when the air alone is too hot."""
    _checked(ambient_c, theta_c_per_w)
    total = within("sum of theta_c_per_w", sum(theta_c_per_w), 1e-6, 1e4, "C/W", "no chain is a perfect one")
    return max(0.0, (junction_max_c - ambient_c) / total)


def sink_needed_c_per_w(
    *, ambient_c: float, junction_max_c: float, watts: float, theta_jc: float, theta_cs: float
) -> float:
    """Largest sink-to-air resistance that keeps the junction at its limit, in C/W.

    Raises ``LeadoffError`` when no sink can: the path inside the package alone is too long.
    """
    _checked(ambient_c, (theta_jc, theta_cs))
    within("watts", watts, 1e-6, 200.0, "W", "no heat needs no sink")
    left = (junction_max_c - ambient_c) / watts - theta_jc - theta_cs
    if left <= 0.0:
        raise LeadoffError.one(
            "no-sink-enough",
            f"{watts:g} W from {ambient_c:g} C air passes {junction_max_c:g} C at the junction with any sink",
            where="watts",
            do="lower the power, cool the air, or share the load between two packages",
        )
    return left


def sections(
    *, ambient_c: float, watts: float, case_to_air_c_per_w: float, parts: Sequence[Section]
) -> tuple[SectionHeat, ...]:
    """Junction of each section when all of ``watts`` goes through the one case.

    The data sheets of the 1083/1085 class of regulators ask for this: control section and power section
    have their own resistance and limit, and an average of both would allow too much.
    """
    found = []
    for part in parts:
        chain = (part.theta_jc_c_per_w, case_to_air_c_per_w)
        reached = junction_c(ambient_c=ambient_c, watts=watts, theta_c_per_w=chain)
        found.append(SectionHeat(name=part.name, junction_c=reached, margin_c=part.junction_max_c - reached))
    return tuple(found)


def case_to_air_needed_c_per_w(*, case_max_c: float, ambient_c: float, watts: float) -> float:
    """Largest case-to-air resistance, sink and compound together: (Tcase max - Ta) / P, in C/W.

    0 when the air alone is too hot. Air of -40 to 150 C, up to 200 W.
    Source: Pentium data sheet 5.1.1: TA = TC - P x thetaCA, the case temperature is the only limit set.
    """
    _checked(ambient_c, ())
    within("watts", watts, 1e-3, 200.0, "W", "no heat needs no sink")
    within("case_max_c", case_max_c, 0.0, 150.0, "C", "a processor's case limit is meant")
    return max(0.0, (case_max_c - ambient_c) / watts)


def highest_air_c(*, case_max_c: float, watts: float, case_to_air_c_per_w: float) -> float:
    """Hottest air in which the case stays at its limit: Tcase max - P thetaCA. Same source and range."""
    within("watts", watts, 0.0, 200.0, "W", "no single package on a board gives off more")
    _checked(25.0, (case_to_air_c_per_w,))
    return case_max_c - watts * case_to_air_c_per_w


def _checked(ambient_c: float, theta_c_per_w: Sequence[float]) -> None:
    within("ambient_c", ambient_c, -40.0, 150.0, "C", "air around a board is meant")
    for theta in theta_c_per_w:
        within("theta_c_per_w", theta, 0.0, 1000.0, "C/W", "a thermal resistance is not negative")
