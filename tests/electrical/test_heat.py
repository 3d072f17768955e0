"""Regulators and thermal chains, against worked examples of data sheets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.electrical import (
    Section,
    allowed_watts,
    divider_amps,
    junction_c,
    linear_heat,
    sections,
    sink_needed_c_per_w,
)
from leadoff.record.errors import LeadoffError


@pytest.mark.reference
def test_two_pin_regulator_example() -> None:
    # Source: LT3085 data sheet 3085fb p. 16 (read): Vcontrol 3.630 V, Vin 1.575 V, Vout 0.9 V, 0.5 A,
    # Icontrol = Iout / 60 = 8.3 mA; Pdrive 23 mW, Poutput 337 mW, 360 mW, and 76 C at 73 C/W from 50 C.
    heat = linear_heat(
        in_volts=1.575, out_volts=0.9, out_amps=0.5, control_volts=3.630, control_amps=0.5 / 60
    )
    assert heat.control_w * 1000 == pytest.approx(23, abs=0.5)
    assert heat.output_w * 1000 == pytest.approx(337.5, abs=0.6)
    assert heat.total_w * 1000 == pytest.approx(360, abs=0.6)
    assert junction_c(ambient_c=50, watts=heat.total_w, theta_c_per_w=[73]) == pytest.approx(76, abs=0.5)


@pytest.mark.reference
def test_three_terminal_example() -> None:
    # Source: LT1083 data sheet, "Thermal Considerations" (read up to the sum): 9 V in, 5 V out, 6 A: 24 W;
    # air 75 C, sink 1 C/W, case to sink 0.2 C/W. Section figures 0.6 and 1.6 C/W with limits 125 and 150 C,
    # and the answers 118 and 142 C: from memory.
    heat = linear_heat(in_volts=9, out_volts=5, out_amps=6)
    assert heat.total_w == pytest.approx(24.0)
    control, power = sections(
        ambient_c=75,
        watts=heat.total_w,
        case_to_air_c_per_w=1.2,
        parts=[
            Section(name="control", theta_jc_c_per_w=0.6, junction_max_c=125),
            Section(name="power", theta_jc_c_per_w=1.6, junction_max_c=150),
        ],
    )
    assert control.junction_c == pytest.approx(118, abs=0.5)
    assert power.junction_c == pytest.approx(142, abs=0.5)
    assert control.margin_c == pytest.approx(7, abs=0.5)
    assert power.margin_c == pytest.approx(8, abs=0.5)


@pytest.mark.reference
def test_set_divider_counts_as_control_path() -> None:
    # Source: LM1085 data sheet SNVS038G p. 11, eq. 10 (read): (Vin - Vout) (Iload + Vref / R1).
    heat = linear_heat(in_volts=5, out_volts=3.45, out_amps=3, control_amps=divider_amps(1.25, 121))
    assert heat.output_w == pytest.approx(4.65)
    assert heat.control_w == pytest.approx(1.55 * 1.25 / 121)


@pytest.mark.reference
def test_allowed_watts_on_a_bare_board() -> None:
    # Source: LM1085 data sheet SNVS038G p. 11, eq. 11 and its table (read): (125 - Ta) / theta, 81 C/W on a
    # two-layer board. From 25 C that is 1.23 W (derived), so a 3 A linear conversion needs a sink.
    assert allowed_watts(ambient_c=25, junction_max_c=125, theta_c_per_w=[81]) == pytest.approx(
        1.235, abs=0.001
    )
    assert allowed_watts(ambient_c=130, junction_max_c=125, theta_c_per_w=[81]) == 0.0


def test_sink_needed_is_the_inverse_of_the_chain() -> None:
    theta = sink_needed_c_per_w(ambient_c=35, junction_max_c=125, watts=9, theta_jc=0.7, theta_cs=0.5)
    assert junction_c(ambient_c=35, watts=9, theta_c_per_w=[0.7, 0.5, theta]) == pytest.approx(125)


def test_no_sink_is_enough() -> None:
    with pytest.raises(LeadoffError, match="100 W from 35 C air passes 125 C at the junction with any sink"):
        sink_needed_c_per_w(ambient_c=35, junction_max_c=125, watts=100, theta_jc=0.7, theta_cs=0.5)


def test_a_linear_regulator_only_lowers() -> None:
    with pytest.raises(LeadoffError, match=r"in_volts 3\.3 V is below the output 5 V"):
        linear_heat(in_volts=3.3, out_volts=5, out_amps=1)


def test_a_negative_resistance_is_refused() -> None:
    with pytest.raises(LeadoffError, match="theta_c_per_w is -1 C/W"):
        junction_c(ambient_c=25, watts=1, theta_c_per_w=[2, -1])


@given(amps=st.floats(0, 10), more=st.floats(0, 5), drop=st.floats(0, 5))
def test_more_amps_never_less_heat(amps: float, more: float, drop: float) -> None:
    low = linear_heat(in_volts=3 + drop, out_volts=3, out_amps=amps)
    assert linear_heat(in_volts=3 + drop, out_volts=3, out_amps=amps + more).total_w >= low.total_w
