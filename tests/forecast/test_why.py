"""What changed between two runs, first form: one change is told, several are not split."""

from __future__ import annotations

import pytest
from makers import FRAMES, seen, setup, sheet

from leadoff.forecast.why import BUS, CORE, changed_factors, way_back, why_first_form

BASE = {"bus_mhz": "100/3", "ratio": "2", "l2_read": "3-2-2-2", "dram_read": "4-3-3-3"}


def test_core_and_bus_are_the_factors_not_bus_and_ratio() -> None:
    a, b = setup(BASE), setup({**BASE, "bus_mhz": "40", "ratio": "5/3"})
    assert [f.factor for f in changed_factors(a, b)] == [BUS]
    both = setup({**BASE, "bus_mhz": "40"})
    assert [f.factor for f in changed_factors(a, both)] == [CORE, BUS]


def test_a_single_change_takes_the_difference() -> None:
    a, b = (
        seen(setup(BASE), "20.0 20.1 20.0"),
        seen(setup({**BASE, "l2_read": "2-1-1-1"}), "21.0 21.1 21.0", number="2"),
    )
    got = why_first_form(a, b, FRAMES, (a, b))
    assert [f.factor for f in got.factors] == ["l2_read"]
    assert got.factors[0].verdict == "shown"
    assert got.factors[0].share.value == pytest.approx(5.0, abs=0.1)


def test_a_single_change_within_the_noise_is_not_claimed() -> None:
    a, b = (
        seen(setup(BASE), "20.0 20.1"),
        seen(setup({**BASE, "l2_read": "2-1-1-1"}), "20.1 20.0", number="2"),
    )
    got = why_first_form(a, b, FRAMES, (a, b))
    assert got.factors[0].verdict == "cannot_tell"


def test_several_changes_are_not_split_and_the_cheapest_run_is_named() -> None:
    a = seen(setup(BASE), "20.0")
    b = seen(setup({**BASE, "l2_read": "2-1-1-1", "bus_mhz": "40"}), "25.0", number="2")
    got = why_first_form(a, b, FRAMES, (a, b))
    assert {f.verdict for f in got.factors} == {"cannot_tell"}
    assert all(f.share.value is None for f in got.factors)
    assert set(got.cannot_tell[0].factors) == {CORE, BUS, "l2_read"}
    assert got.cannot_tell[0].total is not None
    assert got.cannot_tell[0].total.value == pytest.approx(25.0, abs=0.1)
    assert got.cheapest_run is not None
    assert dict(got.cheapest_run.settings) == {"l2_read": "3-2-2-2"}  # a set-up entry, not a jumper
    assert got.cheapest_run.minutes < 10.0


def test_no_recorded_change_is_said() -> None:
    a, b = seen(setup(BASE), "20.0"), seen(setup(BASE), "20.6", number="2")
    got = why_first_form(a, b, FRAMES, (a, b))
    assert got.factors == ()
    assert "no recorded setting differs" in got.cannot_tell[0].because


def test_the_way_back_of_a_clock_is_another_ratio_or_none() -> None:
    """Putting the bus back is no separation when the core follows it."""
    a, b = setup(BASE), setup({**BASE, "bus_mhz": "50"})
    core, bus = changed_factors(a, b)
    assert (core.factor, bus.factor) == (CORE, BUS)
    assert way_back(core, a, b) is None  # 66.7 over 50 is no ratio
    assert way_back(bus, a, b) == {"ratio": "3", "bus_mhz": "100/3"}
    only = setup({**BASE, "ratio": "3"})
    (alone,) = changed_factors(a, only)
    assert way_back(alone, a, only) == {"ratio": "2"}


def test_a_divider_from_the_sheet_is_part_of_the_bus_clock() -> None:
    board = sheet("slip-1", "slot1", buses=("pci",), dividers={"pci": {"*": "1/3", "400/3": "1/4"}})
    a, b = (setup({"bus_mhz": m, "ratio": "4"}, board) for m in ("100", "400/3"))
    assert [f.factor for f in changed_factors(a, b)] == [CORE, BUS]
    own = setup({"bus_mhz": "100", "ratio": "4", "pci_ratio": "1/2"}, board)
    assert [f.factor for f in changed_factors(a, own)] == ["pci_ratio"]
