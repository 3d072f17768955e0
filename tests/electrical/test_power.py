"""Watts and amps at another voltage and clock, against published pairs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.electrical import change_pct, over_volts_pct, scaled_amps, scaled_watts
from leadoff.record.errors import LeadoffError


@pytest.mark.reference
def test_power_goes_with_volts_squared() -> None:
    # Source: figures of the maker's K6-233 data sheets for 3.2 V and 3.3 V, as quoted at
    # plasma-online.de/english/upgrade/tweak/fixes/fix_k6_in_socket5.html (read; secondary):
    # 28.3 W and 9.5 A (core) at 3.2 V, 30.2 W and 9.75 A at 3.3 V, both at 233 MHz.
    assert scaled_watts(28.3, volts=3.2, to_volts=3.3) == pytest.approx(30.2, rel=0.01)
    assert scaled_amps(9.5, volts=3.2, to_volts=3.3) == pytest.approx(9.75, rel=0.01)


@pytest.mark.reference
def test_power_goes_with_clock() -> None:
    # 2.6 W at 100 MHz and 3.2 W at 120 MHz, one clock-tripled 3.3 V 486 of 0.5 micron (read; secondary, one
    # decimal). Source: micro.magnet.fsu.edu/chipshots/amd/486dx4large.html
    assert scaled_watts(2.6, volts=3.3, to_volts=3.3, mhz=100, to_mhz=120) == pytest.approx(3.2, rel=0.03)


def test_part_of_2v8_on_a_single_rail() -> None:
    # Scenario A, invented board: 2.8 V, 5.7 A, 15.7 W part on 3.3 V and on 3.52 V (asked to +/-1 %).
    assert over_volts_pct(3.3, 2.8) == pytest.approx(17.86, abs=0.01)
    assert over_volts_pct(3.52, 2.8) == pytest.approx(25.7, abs=0.05)
    watts = scaled_watts(15.7, volts=2.8, to_volts=3.3)
    assert watts == pytest.approx(21.8, abs=0.05)
    assert change_pct(watts, 15.7) == pytest.approx(38.9, abs=0.1)
    hotter = scaled_watts(15.7, volts=2.8, to_volts=3.52)
    assert hotter == pytest.approx(24.8, abs=0.05)
    assert change_pct(hotter, 15.7) == pytest.approx(58.0, abs=0.1)
    assert scaled_amps(5.7, volts=2.8, to_volts=3.3) == pytest.approx(6.72, abs=0.01)


def test_nothing_over_at_or_below_the_limit() -> None:
    assert over_volts_pct(3.3, 3.3) == 0.0
    assert over_volts_pct(2.8, 3.3) == 0.0


def test_a_constant_current_grows_with_volts_only() -> None:
    assert scaled_watts(2.0, volts=3.0, to_volts=6.0, to_mhz=3.0, dynamic_share=0.0) == pytest.approx(4.0)


volts = st.floats(2.0, 3.9)
clocks = st.floats(10.0, 39.0)


@given(v=volts, more=st.floats(0.0, 0.1), f=clocks, share=st.floats(0.0, 1.0))
def test_more_volts_never_fewer_watts(v: float, more: float, f: float, share: float) -> None:
    low = scaled_watts(10.0, volts=2.5, to_volts=v, mhz=20, to_mhz=f, dynamic_share=share)
    high = scaled_watts(10.0, volts=2.5, to_volts=v + more, mhz=20, to_mhz=f, dynamic_share=share)
    assert high >= low


@given(v=volts, f=clocks)
def test_there_and_back_is_the_same(v: float, f: float) -> None:
    there = scaled_watts(10.0, volts=2.5, to_volts=v, mhz=20, to_mhz=f)
    assert scaled_watts(there, volts=v, to_volts=2.5, mhz=f, to_mhz=20) == pytest.approx(10.0)


@given(v=volts, f=clocks)
def test_watts_are_volts_times_amps(v: float, f: float) -> None:
    amps = scaled_amps(4.0, volts=2.5, to_volts=v, mhz=20, to_mhz=f)
    assert v * amps == pytest.approx(scaled_watts(10.0, volts=2.5, to_volts=v, mhz=20, to_mhz=f))


def test_outside_of_the_formula_is_refused_with_reason() -> None:
    with pytest.raises(
        LeadoffError, match=r"to_volts / volts is 2\.5 of 1; the formula holds from 0\.5 to 2"
    ):
        scaled_watts(10.0, volts=2.0, to_volts=5.0)
    with pytest.raises(LeadoffError, match="watts is nan W"):
        scaled_watts(float("nan"), volts=2.0, to_volts=2.0)
