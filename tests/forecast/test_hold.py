"""Chances to hold: what held, what failed, and that no path is blamed alone without reason."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import seen, setup, sheet

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.hold import hold
from leadoff.machine.partfacts import Processor
from leadoff.record.runs import Outcome

PART = Processor(id="x5-133", core="x5", rated_mhz=Fraction(400, 3), v_typ=3.45)
BOARD = sheet("quay-1", "486vlb", buses=("vlb", "isa"))


def at(bus: str, ratio: str = "4", of: object = BOARD, **more: str) -> Setup:
    return setup({"bus_mhz": bus, "ratio": ratio, "cpu": "x5-133", **more}, of, PART)  # type: ignore[arg-type]


def held(state: Setup, number: str = "1") -> Observed:
    return seen(state, "20.0", number=number)


def failed(state: Setup, outcome: Outcome = Outcome.FAILS_MID_RUN, number: str = "2") -> Observed:
    return seen(state, "", number=number, outcome=outcome)


def chance(state: Setup, *runs: Observed) -> float:
    got = hold(state, runs).chance.hold
    assert got is not None
    return got


def test_what_held_raises_and_what_failed_lowers_the_chance() -> None:
    target = at("40")
    before = chance(target)
    assert chance(target, held(at("40"))) > max(before, 0.85)
    assert chance(target, failed(at("40"))) < before
    assert chance(target, failed(at("40"))) < 0.35
    assert chance(at("100/3"), failed(at("40"))) > chance(target, failed(at("40"))) + 0.2


def test_start_boot_and_hold_are_in_order() -> None:
    got = hold(at("40"), (failed(at("50"), Outcome.NO_START),)).chance
    assert got.start is not None
    assert got.boot is not None
    assert got.hold is not None
    assert got.start >= got.boot >= got.hold > 0.0


def test_a_failure_may_be_any_path() -> None:
    """Core and bus both went up and it failed: each is suspect, and a state that raises only one is less so."""
    blame = (held(at("100/3", "3"), "1"), failed(at("50", "3"), number="2"))
    only_core, only_bus = at("100/3", "4"), at("50", "2")
    both = at("50", "3")
    assert chance(both, *blame) < chance(only_core, *blame)
    assert chance(both, *blame) < chance(only_bus, *blame)


def test_another_path_that_held_at_the_load_moves_the_blame() -> None:
    core_bad = (held(at("50", "2"), "1"), failed(at("50", "3"), number="2"))
    free = (failed(at("50", "3"), number="2"),)
    assert chance(at("100/3", "9/2"), *core_bad) < chance(at("100/3", "9/2"), *free)
    assert chance(at("50", "2"), *core_bad) > chance(at("50", "2"), *free)


def test_known_ceiling_is_named() -> None:
    runs = (held(at("40", "3"), "1"), failed(at("40", "4"), number="2"), failed(at("40", "4"), number="3"))
    told = hold(at("50", "4"), runs)
    assert told.beyond_ceiling
    assert not hold(at("40", "3"), runs).beyond_ceiling


def test_more_volts_help_and_heat_hurts_the_core() -> None:
    fail = failed(at("40", "4", core_v="3.45"))
    base = chance(at("40", "4", core_v="3.45"), fail)
    assert chance(at("40", "4", core_v="3.6"), fail) > base
    assert chance(at("40", "4", core_v="3.45", temp_c="70"), fail) < base


def test_a_specimen_keeps_its_limit_on_another_board() -> None:
    there = sheet("quay-2", "486vlb", buses=("vlb", "isa"))
    ran = held(at("40", "4", there, cpu_specimen="blue dot"))
    moved = at("40", "4", cpu_specimen="blue dot")
    assert chance(moved, ran) > chance(moved)
    assert chance(at("40", "4", cpu_specimen="red dot"), ran) == pytest.approx(chance(moved))


def test_without_clocks_nothing_is_said() -> None:
    got = hold(setup({"bus_mhz": None, "ratio": None}), ())
    assert got.chance.hold is None
    assert "no clock" in got.chance.why


@settings(deadline=None, max_examples=40)
@given(
    outcomes=st.lists(
        st.tuples(
            st.sampled_from(["25", "100/3", "40", "50"]), st.sampled_from(["2", "3", "4"]), st.booleans()
        ),
        max_size=9,
    ),
    ratio=st.sampled_from(["2", "3"]),
)
def test_more_core_clock_never_raises_the_chance(outcomes: list[tuple[str, str, bool]], ratio: str) -> None:
    """Monotone per path at a fixed bus, divider, pattern and volts, whatever was seen, also many failures."""
    runs = [
        held(at(b, r), str(i)) if ok else failed(at(b, r), number=str(i))
        for i, (b, r, ok) in enumerate(outcomes)
    ]
    low, high = at("40", ratio), at("40", str(int(ratio) + 1))
    assert chance(high, *runs) <= chance(low, *runs) + 1e-9
    assert 0.0 <= chance(low, *runs) <= 0.97 + 1e-9
