"""Two-clock arithmetic: bounds, bands, and what it refuses to say."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import FRAMES, SECONDS, scaled, seen, setup, sheet

from leadoff.forecast.facts import Question, Setup
from leadoff.forecast.two_clock import two_clock
from leadoff.machine.partfacts import Processor

SLOT = sheet(
    "slip-1",
    "slot1",
    buses=("pci", "agp", "isa"),
    dividers={"pci": {"*": "1/3", "400/3": "1/4"}, "agp": {"*": "2/3"}},
)
PART = Processor(
    id="slot1-550", core="katmai", locked=Fraction(11, 2), rated_mhz=Fraction(550), l2_clock=Fraction(1, 2)
)


def slot(bus: str) -> Setup:
    return setup({"bus_mhz": bus, "ratio": "11/2"}, SLOT, PART)


@pytest.mark.parametrize(("bus", "upper"), [("124", 91.8), ("400/3", 98.7)])
def test_upper_bound_is_all_clocks_scaling(bus: str, upper: float) -> None:
    runs = (seen(slot("100"), "74.0"),)
    got = two_clock(Question(target=slot(bus), workloads=(FRAMES,), runs=runs))
    e = got.expected[0]
    assert got.basis == "clocks"
    assert e.upper == pytest.approx(upper, abs=0.05)
    assert e.lower is not None
    assert e.median is not None
    assert e.band90 is not None
    assert e.lower <= e.median <= e.upper * 1.02
    assert e.band90[0] < e.median < e.band90[1]


def test_side_bus_that_stays_lowers_the_lower_bound() -> None:
    runs = (seen(slot("100"), "74.0"),)
    e = two_clock(Question(target=slot("400/3"), workloads=(FRAMES,), runs=runs)).expected[0]
    assert e.lower == pytest.approx(74.0, abs=0.01)  # PCI is 33.3 MHz in both


def test_nothing_is_said_without_runs() -> None:
    got = two_clock(Question(target=slot("100"), workloads=(FRAMES,), runs=()))
    assert got.basis == "family"
    assert got.expected[0].median is None
    assert "no runs: physics and family only" in got.expected[0].undefined
    assert got.best_first_run


def test_other_boards_give_a_family_band_at_least_half_again_wide() -> None:
    at = setup({"bus_mhz": "40", "ratio": "2"})
    other = setup({"bus_mhz": "40", "ratio": "2"}, sheet("quay-2"))
    got = two_clock(Question(target=at, workloads=(FRAMES,), runs=(seen(other, "20.0"),)))
    assert got.basis == "family"
    band = got.expected[0].band90
    assert band is not None
    assert band[1] / band[0] > 1.2
    far = setup({"bus_mhz": "66", "ratio": "3"}, sheet("quay-3", "socket7"))
    wide = (
        two_clock(Question(target=far, workloads=(FRAMES,), runs=(seen(other, "20.0"),))).expected[0].band90
    )
    assert wide is not None
    assert wide[1] / wide[0] > 1.5


def test_unmet_need_is_undefined_and_unknown_clock_cannot_be_said() -> None:
    runs = (seen(setup({"bus_mhz": "40", "ratio": "1", "fpu": "387"}), "20.0"),)
    needing = FRAMES.__class__(name="w2", unit="frames/s", direction=FRAMES.direction, needs=("fpu",))
    bare = setup({"bus_mhz": "40", "ratio": "1", "fpu": "none"}, sheet("quay-1", "386dx"))
    e = two_clock(Question(target=bare, workloads=(needing,), runs=runs)).expected[0]
    assert e.median is None
    assert e.undefined.startswith("undefined: needs fpu")
    lost = setup({"bus_mhz": "40", "ratio": None})
    e = two_clock(Question(target=lost, workloads=(FRAMES,), runs=runs)).expected[0]
    assert e.undefined == "cannot say: core_mhz of the state is not known"


def test_runs_narrow_the_band_and_unlike_settings_widen_it() -> None:
    at = setup({"bus_mhz": "40", "ratio": "2", "l2_read": "2-1-1-1"})
    near = setup({"bus_mhz": "100/3", "ratio": "2", "l2_read": "2-1-1-1"})
    unlike = setup({"bus_mhz": "100/3", "ratio": "2", "l2_read": "3-2-2-2"})
    narrow, wide = (
        two_clock(Question(target=at, workloads=(FRAMES,), runs=(seen(s, "20.0"),))).expected[0].sd_log
        for s in (near, unlike)
    )
    assert narrow is not None
    assert wide is not None
    assert wide > narrow


@settings(deadline=None, max_examples=30)
@given(k=st.fractions(Fraction(1, 2), Fraction(2)), ratio=st.sampled_from(["1", "2", "5/2", "4"]))
def test_all_clocks_times_k_give_the_score_times_k(k: Fraction, ratio: str) -> None:
    at = setup({"bus_mhz": "30", "ratio": ratio})
    runs = (
        seen(setup({"bus_mhz": "33", "ratio": "2"}), "20.0"),
        seen(setup({"bus_mhz": "25", "ratio": "3"}), "19.1"),
    )
    for workload, power in ((FRAMES, 1), (SECONDS, -1)):
        named = runs
        if workload is SECONDS:
            named = tuple(seen(o.setup, o.run.readings[0].text, workload="w9") for o in runs)
        one = two_clock(Question(target=at, workloads=(workload,), runs=named))
        # Target and runs scaled together: the level is fixed by the runs, the identity is that of the function.
        both = two_clock(
            Question(
                target=scaled(at, k),
                workloads=(workload,),
                runs=tuple(o.__class__(run=o.run, setup=scaled(o.setup, k), when=o.when) for o in named),
            )
        )
        assert both.expected[0].median == pytest.approx(one.expected[0].median, rel=1e-9)
        alone = two_clock(Question(target=scaled(named[0].setup, k), workloads=(workload,), runs=named[:1]))
        base = two_clock(Question(target=named[0].setup, workloads=(workload,), runs=named[:1]))
        assert alone.expected[0].median == pytest.approx(
            base.expected[0].median * float(k) ** power, rel=1e-9
        )


def test_noise_past_the_bounds_is_that_of_two_runs() -> None:
    """A run may lie beyond what clocks alone make of another one, by the noise and the rounding of both."""
    runs = (seen(slot("100"), "74.0"),)
    coarse = (seen(slot("100"), "74"),)
    asked = Question(target=slot("124"), workloads=(FRAMES,), runs=runs)
    got = two_clock(asked).bound_noise[FRAMES.name]
    sd = got / 100.0 / 1.645
    assert sd > 0.003 * 2**0.5  # two runs of at least the house's repeatability
    assert (
        two_clock(Question(target=slot("124"), workloads=(FRAMES,), runs=coarse)).bound_noise[FRAMES.name]
        > got + 0.1
    )
    assert two_clock(Question(target=slot("124"), workloads=(FRAMES,), runs=())).bound_noise == {}
