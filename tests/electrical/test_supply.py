"""Minimum load, power-good and cell life."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.electrical import (
    Rail,
    cell_years,
    dummy_load_ohms,
    dummy_load_watts,
    power_good,
    rail_load,
    rail_ok,
)
from leadoff.electrical.limits import supply_limits
from leadoff.record.errors import LeadoffError

# Source: IBM PC 300GL manual, table 9 (read): +5 V output, minimum 1.5 A, maximum 18.0 A.
FIVE = Rail(volts=5.0, min_amps=1.5, max_amps=18.0)


@pytest.mark.reference
def test_a_bare_board_is_under_the_minimum_load() -> None:
    load = rail_load(FIVE, 0.5)
    assert not load.ok
    assert load.short_of_minimum_amps == pytest.approx(1.0)
    assert dummy_load_ohms(FIVE, 0.5) == pytest.approx(5.0)
    assert dummy_load_watts(FIVE, 0.5) == pytest.approx(5.0)


def test_a_load_inside_needs_no_dummy() -> None:
    assert rail_load(FIVE, 1.5).ok
    assert rail_load(FIVE, 18.0).ok
    assert dummy_load_ohms(FIVE, 2.0) is None
    assert dummy_load_watts(FIVE, 2.0) == 0.0


def test_an_overload_says_by_how_much() -> None:
    assert rail_load(FIVE, 20.0).over_maximum_amps == pytest.approx(2.0)


@pytest.mark.reference
def test_power_good_window() -> None:
    # Source: Intel ATX Power Supply Design Guide 0.9, table 9 (read): 100 ms < T3 < 500 ms.
    assert supply_limits().power_good.certainty == "read"
    assert power_good(300).ok
    assert "100 ms" in power_good(20).why
    assert not power_good(20).ok
    assert not power_good(900).ok
    assert "500 ms" in power_good(900).why


def test_rail_tolerance() -> None:
    assert rail_ok(4.92, 5.0)
    assert rail_ok(4.75, 5.0)
    assert not rail_ok(4.70, 5.0)
    assert not rail_ok(4.92, 5.0, tolerance_pct=1.0)


@pytest.mark.reference
def test_coin_cell_example() -> None:
    # Source: what-when-how.com/Tutorial/topic-1055jk35/Upgrading-and-Repairing-PCs-971.html (read):
    # 220 mAh at 5 uA = 44,000 hours = 5 years; 165 mAh = 33,000 hours = 3.7 years (printed; it is 3.76).
    assert cell_years(capacity_mah=220, drain_ua=5) * 365.25 * 24 == pytest.approx(44_000)
    assert cell_years(capacity_mah=220, drain_ua=5) == pytest.approx(5.0, abs=0.05)
    assert cell_years(capacity_mah=165, drain_ua=5) == pytest.approx(3.76, abs=0.01)


def test_self_discharge_bounds_the_life_of_an_idle_cell() -> None:
    # Closed form against a step-by-step balance.
    charge, years, step = 1.0, 0.0, 1e-4
    drain = 0.5e-3 * 8766 / 220
    while charge > 0:
        charge -= (drain + 0.01 * charge) * step
        years += step
    assert cell_years(capacity_mah=220, drain_ua=0.5, self_discharge_pct_per_year=1) == pytest.approx(
        years, rel=1e-3
    )


@given(drain=st.floats(0.1, 100), more=st.floats(0, 50), on=st.floats(0, 0.9), leak=st.floats(0, 5))
def test_more_drain_never_lasts_longer(drain: float, more: float, on: float, leak: float) -> None:
    def life(ua: float) -> float:
        return cell_years(capacity_mah=220, drain_ua=ua, powered_share=on, self_discharge_pct_per_year=leak)

    assert life(drain + more) <= life(drain) * (1 + 1e-12)
    assert math.isfinite(life(drain))


def test_a_cell_that_never_drains_is_refused() -> None:
    with pytest.raises(LeadoffError, match=r"drain_ua is 0 uA; the formula holds from 0\.01 to 5000 uA"):
        cell_years(capacity_mah=220, drain_ua=0)
