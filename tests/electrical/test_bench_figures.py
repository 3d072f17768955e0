"""Figures that a restorer works out at the bench, against published values and against plain sums."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.electrical import (
    SHELF_YEARS,
    against_range,
    blocking_ohms,
    case_to_air_needed_c_per_w,
    cell_years,
    drain_from_drop_ua,
    emptied_seconds,
    highest_air_c,
    inrush,
    linear_heat,
    may_be_fitted,
    plus_goes_to,
    power_good_level,
    rail_state,
    regulator_sink,
    tantalum_volts_needed,
    to_ground,
)
from leadoff.electrical.limits import supply_limits
from leadoff.record.errors import LeadoffError


@pytest.mark.reference
@pytest.mark.parametrize(
    ("word", "volts", "nominal"),
    [
        ("good", 4.75, 5.0),
        ("good", 5.25, 5.0),
        ("out", 4.74, 5.0),
        ("good", 11.40, 12.0),
        ("edge", 11.0, 12.0),
        ("out", 10.7, 12.0),
        ("good", 3.43, 3.3),
        ("edge", 3.46, 3.3),
        ("out", 3.48, 3.3),
        ("good", -10.8, -12.0),
        ("out", -4.4, -5.0),
    ],
)
def test_rails(word: str, volts: float, nominal: float) -> None:
    # Source: ATX12V Power Supply Design Guide v2.0, 3.2.1, table 2 (4.75-5.25, 11.40-12.60, 10.80-13.20 at peak,
    # 3.14-3.47); PC hardware handbook quoting ATX 2.1, table 26-2 (3.3 V within 4 %, negative rails within 10 %).
    assert rail_state(volts, nominal).word == word


@pytest.mark.reference
def test_levels_of_the_power_good_line() -> None:
    # Source: ATX/ATX12V Power Supply Design Guide v1.1, table 14: low below 0.4 V, high 2.4 to 5 V.
    assert power_good_level(0.2).word == "low"
    assert power_good_level(1.5).word == "neither"
    assert power_good_level(4.9).word == "high"
    assert power_good_level(6.0).word == "neither"


@pytest.mark.parametrize(
    ("rail", "ohms", "word"),
    [
        ("5v", 1.2, "short"),
        ("5v", 6, "suspect"),
        ("5v", 38, "usual"),
        ("12v", 9, "short"),
        ("neg", 50, "suspect"),
    ],
)
def test_ohms_to_ground(rail: str, ohms: float, word: str) -> None:
    # common practice, no source
    assert to_ground(ohms, rail).word == word


def test_a_low_voltage_processor_in_its_socket_is_no_short() -> None:
    # common practice, no source: the core rail reads only a few ohm with the processor in
    assert to_ground(1.5, "core").word == "short"
    assert to_ground(1.5, "core", processor_in=True).word == "usual"
    assert to_ground(0.3, "core", processor_in=True).word == "short"


def test_what_has_no_published_limit_is_refused() -> None:
    with pytest.raises(LeadoffError, match=r"no published tolerance of a rail of 2\.5 V"):
        rail_state(2.5, 2.5)
    with pytest.raises(LeadoffError, match="7v is no rail"):
        to_ground(10, "7v")


@pytest.mark.reference
@pytest.mark.parametrize(("watts", "theta"), [(10.1, 2.97), (17.0, 1.76), (28.3, 1.06)])
def test_case_to_air_of_processors(watts: float, theta: float) -> None:
    # Source: Pentium 75-200 data sheet 5.1.1 for the rule; thermal design watts 10.1 and 17.0 from memory, 28.3 from
    # the maker's data sheet as quoted at plasma-online.de (read): case 70 C, air 40 C.
    assert case_to_air_needed_c_per_w(case_max_c=70, ambient_c=40, watts=watts) == pytest.approx(
        theta, abs=0.01
    )


@pytest.mark.reference
def test_method_of_a_thermal_design_guide() -> None:
    # Source: Intel FC-PGA2 thermal design guidelines 249660, p. 24 (read): (67 - 45) / 30 = 0.73 C/W.
    assert case_to_air_needed_c_per_w(case_max_c=67, ambient_c=45, watts=30) == pytest.approx(0.73, abs=0.005)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("case", "theta", "air"), [(85, 15.0, 38.9), (85, 10.0, 54.3), (55, 15.0, 8.9), (55, 10.0, 24.3)]
)
def test_hottest_air_of_a_ceramic_part(case: float, theta: float, air: float) -> None:
    # Source: Am5x86 data sheet 12, p. 65, table 21 (read): junction to air 16.5 bare and 12.0 with a sink in still
    # air, junction to case 1.5 and 2.0; 3.07 W at 3.3 V.
    assert highest_air_c(case_max_c=case, watts=3.07, case_to_air_c_per_w=theta) == pytest.approx(
        air, abs=0.1
    )


@pytest.mark.reference
def test_sink_of_a_regulator_by_both_sections() -> None:
    # Source: LM1085 data sheet p. 9 (read) for the rule; section figures 0.7 and 3.0 C/W from memory.
    # 3.25 A from 5.25 V to 3.3 V is 6.3 W: 12.5 C/W by the control section, 14.2 by the output section.
    watts = linear_heat(in_volts=5.25, out_volts=3.3, out_amps=3.25).total_w
    sink = regulator_sink(watts=watts, ambient_c=40)
    assert sink.control_c_per_w == pytest.approx(12.5, abs=0.05)
    assert sink.output_c_per_w == pytest.approx(14.2, abs=0.05)
    assert sink.c_per_w == sink.control_c_per_w
    # A heavier load turns it round: the output section decides.
    heavy = regulator_sink(watts=15.9, ambient_c=40)
    assert heavy.c_per_w == heavy.output_c_per_w == pytest.approx(3.7, abs=0.05)


@pytest.mark.reference
def test_a_bare_regulator_at_its_limit() -> None:
    # Source: LT1581 data sheet p. 2 (read): 50 C/W junction to air; 3.45 V, 0.931 A from 5.25 V at 40 C.
    watts = linear_heat(in_volts=5.25, out_volts=3.45, out_amps=0.931).total_w
    assert regulator_sink(watts=watts, ambient_c=40).bare_junction_c == pytest.approx(124, abs=0.5)


@pytest.mark.reference
@pytest.mark.parametrize(("microwatts", "years"), [(40, 1.86), (200, 0.37)])
def test_an_early_clock_part_drains_a_coin_cell_in_months(microwatts: float, years: float) -> None:
    # Source: MC146818A data sheet, features (read): 40 to 200 uW; on 225 mAh (encyclopedia, read) at 2.9 V.
    assert cell_years(capacity_mah=225, drain_ua=microwatts / 2.9) == pytest.approx(years, abs=0.01)


@pytest.mark.reference
def test_the_resistor_beside_a_failed_diode() -> None:
    # Source: lithium coin cell designer's guide (cell maker), p. 53 (read): 25 mA for one type, 10 mA for the other.
    assert blocking_ohms(supply_volts=5.25, cell_volts=2.0, limit_ma=25) == pytest.approx(130)
    assert blocking_ohms(supply_volts=5.25, cell_volts=2.0, limit_ma=10) == pytest.approx(325)


def test_a_primary_cell_never_sits_on_a_charge_path() -> None:
    # Source: Handbook of Batteries 8.4: recharged primaries can leak, rupture or explode.
    assert may_be_fitted("primary", charge_path=True) is False
    assert may_be_fitted("primary", charge_path=None) is None
    assert may_be_fitted("primary", charge_path=False) is True
    assert may_be_fitted("rechargeable", charge_path=True) is True


def test_clock_current_from_a_series_resistor() -> None:
    assert drain_from_drop_ua(5, 1000) == pytest.approx(5)
    with pytest.raises(LeadoffError, match="starves the clock part"):
        drain_from_drop_ua(2000, 1000)


@pytest.mark.reference
def test_emptying_a_capacitor() -> None:
    # Source: repair-community wiki on discharging capacitors, 3RC rule (read): 235 uF through 2.2 kohm, 1.6 s.
    assert emptied_seconds(microfarads=235, ohms=2200) == pytest.approx(1.55, abs=0.01)


def test_inrush_against_a_step_by_step_charge() -> None:
    found = inrush(volts=12, microfarads=22, ohms=0.5)
    charge, step, seconds, energy = 0.0, 1e-9, 0.0, 0.0
    while charge / 22e-6 < 0.95 * 12:
        amps = (12 - charge / 22e-6) / 0.5
        energy += charge / 22e-6 * amps * step
        charge += amps * step
        seconds += step
    assert found.peak_amps == pytest.approx(24)
    assert found.seconds == pytest.approx(seconds, rel=0.01)
    assert found.joules == pytest.approx(energy / 0.95**2, rel=0.01)


def test_polarity_and_rating_of_a_bead() -> None:
    # Source: tantalum data book (maker), polarity; twice the rail: product-safety list on derating
    assert (plus_goes_to(12), plus_goes_to(-12)) == ("rail", "ground")
    assert tantalum_volts_needed(12) == 24
    assert tantalum_volts_needed(-5) == 10


def test_a_wrong_voltage_jumper_in_figures() -> None:
    # A 3.45 V part (range 3.3 to 3.6, absolute maximum 4.6 V class from memory) over a 5 V socket.
    found = against_range(5.0, low_volts=3.3, high_volts=3.6, absolute_volts=4.6)
    assert found.over_recommended_pct == pytest.approx(38.9, abs=0.05)
    assert found.over_absolute_pct == pytest.approx(8.7, abs=0.05)
    assert found.power_ratio == pytest.approx((5 / 3.45) ** 2)
    low = against_range(2.8, low_volts=3.135, high_volts=3.6)
    assert (low.over_recommended_pct, low.over_absolute_pct) == (0.0, None)
    assert low.under_pct == pytest.approx(10.7, abs=0.05)


def test_every_limit_says_how_it_is_known() -> None:
    limits = supply_limits()
    rows = [limits.power_good, limits.rail, *limits.rail_limit, limits.power_good_level, *limits.ground]
    assert {r.certainty for r in [*rows, limits.regulator_case]} <= {"read", "memory", "practice"}
    assert all(r.source for r in rows)
    assert SHELF_YEARS == 10.0


@given(air=st.floats(0, 60), watts=st.floats(0.1, 50), more=st.floats(0, 10))
def test_hotter_air_never_allows_a_worse_sink(air: float, watts: float, more: float) -> None:
    cool = case_to_air_needed_c_per_w(case_max_c=70, ambient_c=air, watts=watts)
    assert case_to_air_needed_c_per_w(case_max_c=70, ambient_c=air + more, watts=watts) <= cool
