"""Heat in a linear regulator, control path and output path apart."""

from __future__ import annotations

import msgspec

from leadoff.electrical.errors import within
from leadoff.electrical.limits import supply_limits
from leadoff.electrical.thermal import sink_needed_c_per_w
from leadoff.record.errors import LeadoffError


class Heat(msgspec.Struct, frozen=True, kw_only=True):
    """Watts turned to heat: in the pass transistor, in its drive, and together."""

    output_w: float
    control_w: float

    @property
    def total_w(self) -> float:
        """The sum that the package has to get rid of."""
        return self.output_w + self.control_w


def linear_heat(
    *,
    in_volts: float,
    out_volts: float,
    out_amps: float,
    control_volts: float | None = None,
    control_amps: float = 0.0,
) -> Heat:
    """Heat of a linear regulator: (Vin - Vout) Iout + (Vcontrol - Vout) Icontrol.

    ``control_volts`` defaults to ``in_volts`` (three-terminal types, whose drive or divider current comes
    from the same pin). Steady state only, for 0 to 40 V and 0 to 20 A; the input must be above the output.
    Source: LT3085 data sheet (3085fb p. 16) for the two-pin form; LM1085 data sheet (SNVS038G p. 11, eq. 8
    to 10) for the three-terminal form, where Icontrol = Vref / R1.
    """
    control = in_volts if control_volts is None else control_volts
    for name, volts in (("in_volts", in_volts), ("out_volts", out_volts), ("control_volts", control)):
        within(name, volts, 0.0, 40.0, "V", "board regulators work below 40 V")
    within("out_amps", out_amps, 0.0, 20.0, "A", "one package carries no more")
    within("control_amps", control_amps, 0.0, 2.0, "A", "a drive current is a small share of the output")
    for name, volts in (("in_volts", in_volts), ("control_volts", control)):
        if volts < out_volts:
            raise LeadoffError.one(
                "regulator-upside-down",
                f"{name} {volts:g} V is below the output {out_volts:g} V; a linear regulator only lowers",
                where=name,
                do="give the voltage before the regulator, measured under load",
            )
    return Heat(output_w=(in_volts - out_volts) * out_amps, control_w=(control - out_volts) * control_amps)


def divider_amps(reference_volts: float, r1_ohms: float) -> float:
    """Current through the set divider of a three-terminal adjustable type: Vref / R1 (1.25 V / 121 ohm)."""
    within("reference_volts", reference_volts, 0.1, 10.0, "V", "references of these types are 1.2 to 1.3 V")
    within("r1_ohms", r1_ohms, 1.0, 1e6, "ohm", "a divider resistor is meant")
    return reference_volts / r1_ohms


class SinkNeeded(msgspec.Struct, frozen=True, kw_only=True):
    """Largest sink-to-air resistance (C/W) by each section's own rule, and without a sink its control junction."""

    control_c_per_w: float
    output_c_per_w: float
    bare_junction_c: float

    @property
    def c_per_w(self) -> float:
        """The smaller of the two: both sections must stay inside."""
        return min(self.control_c_per_w, self.output_c_per_w)


def regulator_sink(*, watts: float, ambient_c: float) -> SinkNeeded:
    """Sink of a three-terminal low-dropout regulator in a TO-220 body, control and output section apart.

    The figures of the two sections stand in ``limits.toml`` (from memory; replace them by your part's). 0.001 to
    200 W. Source: LM1085 data sheet p. 9: calculate both sections, take the smaller sink.
    """
    row = supply_limits().regulator_case
    return SinkNeeded(
        control_c_per_w=sink_needed_c_per_w(
            ambient_c=ambient_c,
            junction_max_c=row.control_max_c,
            watts=watts,
            theta_jc=row.control_jc_c_per_w,
            theta_cs=row.compound_c_per_w,
        ),
        output_c_per_w=sink_needed_c_per_w(
            ambient_c=ambient_c,
            junction_max_c=row.output_max_c,
            watts=watts,
            theta_jc=row.output_jc_c_per_w,
            theta_cs=row.compound_c_per_w,
        ),
        bare_junction_c=ambient_c + watts * row.bare_c_per_w,
    )
