"""A sweep narrows what a forecast takes a line to cost, moves it to the side that it shows, and is no score."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec
import pytest
from makers import FRAMES, seen, setup, sheet

from leadoff.forecast.facts import Fills, Observed, Question, Setup
from leadoff.forecast.fit import collect
from leadoff.forecast.predict import forecast
from leadoff.forecast.store import digest
from leadoff.forecast.sweeps import MEMORY, is_sweep, sweep_data
from leadoff.machine.partfacts import Processor
from leadoff.record.entries import Expected
from leadoff.record.runs import Outcome, Run

PART = Processor(id="a 486", core="486dx2", l1_kb=8)
BUS = "100/3"
FILLS, STORES = 0.03, 0.02
HIT, MEMORY_CLOCKS = {"2-1-1-1": 6.0, "3-2-2-2": 10.0}, {"3-2-2-2": 10.0, "4-3-3-3": 15.0, "5-3-3-3": 16.0}


def state(board: str, **settings: str | None) -> Setup:
    told: Mapping[str, str | None] = {"bus_mhz": BUS, "ratio": "2", "cpu": "a 486", **settings}
    return setup(told, of=sheet(board), part=PART)


def scored(at: Setup, number: int) -> Observed:
    """A run by an arithmetic of this file: core clocks, fills by pattern, half of them from the cache."""
    bus = float(at.clock("bus_mhz") or 0)
    hit = HIT[at.state.value("l2_read") or "2-1-1-1"]
    memory = MEMORY_CLOCKS[at.state.value("dram_read") or "4-3-3-3"] + 2.0
    share = 0.5 if at.state.value("l2") != "off" else 1.0
    time = 1.0 / (2 * bus) + (FILLS * (share * memory + (1 - share) * hit) + STORES) / bus
    return seen(at, f"{0.5 / time:.2f} {0.5 / time + 0.01:.2f}", number=str(number))


def book() -> tuple[Observed, ...]:
    """Two boards with known patterns, cache on and off: what a fill costs this workload is well known."""
    states = [
        state(board, bus_mhz=bus, l2_kb="256", l2=l2, l2_read=cache, dram_read=dram)
        for board in ("quay-1", "quay-2")
        for bus in ("25", BUS, "40")
        for l2 in ("on", "off")
        for cache in ("2-1-1-1", "3-2-2-2")
        for dram in ("3-2-2-2", "4-3-3-3")
        if not (l2 == "off" and cache == "3-2-2-2")
    ]
    return tuple(scored(s, n) for n, s in enumerate(states))


def swept(at: Setup, **fills: tuple[float, float]) -> Observed:
    run = Run(number="s1", board=at.board, workload=None, outcome=Outcome.FINISHES)
    return Observed(run=run, setup=at, when="2020-01-02T19:00", fills=Fills(**fills))


def told(target: Setup, runs: tuple[Observed, ...]) -> Expected:
    return forecast(Question(target=target, workloads=(FRAMES,), runs=runs)).expected[0]


def width(e: Expected) -> float:
    assert e.band90 is not None
    return math.log(e.band90[1] / e.band90[0])


BARE = state("quay-3", l2_kb="0", dram_read=None)
CACHED = state("quay-3", l2_kb="256", l2="on", l2_read=None, dram_read="4-3-3-3")


def test_a_sweep_of_memory_narrows_a_board_without_runs() -> None:
    runs = book()
    before = told(BARE, runs)
    after = told(BARE, (*runs, swept(BARE, memory=(15.0, 17.0))))
    assert width(after) < 0.85 * width(before)


def test_the_forecast_moves_to_the_side_that_the_sweep_shows() -> None:
    runs = book()
    plain = told(BARE, runs).median
    slow = told(BARE, (*runs, swept(BARE, memory=(18.0, 20.0)))).median
    quick = told(BARE, (*runs, swept(BARE, memory=(9.0, 10.5)))).median
    assert plain is not None
    assert slow is not None
    assert quick is not None
    assert slow < plain < quick
    # 9 clocks more on every fill of the arithmetic above cost a quarter of the speed: the middle says most of it
    assert quick / slow > 1.1


def test_a_sweep_of_the_cache_says_which_pattern_it_is() -> None:
    runs = book()
    quick, slow = (told(CACHED, (*runs, swept(CACHED, cache=b))).median for b in ((5.0, 6.5), (9.0, 11.0)))
    assert quick is not None
    assert slow is not None
    assert quick > slow
    truth = {p: scored(state("quay-3", l2_kb="256", l2="on", l2_read=p, dram_read="4-3-3-3"), 1) for p in HIT}
    fast, slower = (truth[p].run.readings[0].value for p in HIT)
    # 7 % between the patterns by the arithmetic above; this board may be as much off by itself, the step is not
    assert math.log(quick / slow) > 0.7 * math.log(fast / slower)


def test_bounds_so_wide_that_they_say_nothing_change_nothing() -> None:
    runs = book()
    before, after = told(BARE, runs), told(BARE, (*runs, swept(BARE, memory=(0.5, 200.0))))
    assert after.median == pytest.approx(before.median, rel=1e-4)
    assert width(after) == pytest.approx(width(before), rel=0.01)


def test_a_sweep_is_no_score() -> None:
    only = (swept(BARE, memory=(15.0, 17.0)),)
    made = forecast(Question(target=BARE, workloads=(FRAMES,), runs=only))
    assert made.basis == "family"
    assert made.expected[0].median is None
    with_runs = forecast(Question(target=BARE, workloads=(FRAMES,), runs=(*book(), *only)))
    assert with_runs.basis == "family"
    assert "memory held inside what its sweep shows" in with_runs.taught


def test_sweeps_that_bound_no_fill_are_left_out() -> None:
    no_first = msgspec.structs.replace(BARE, processor=msgspec.structs.replace(PART, l1_kb=0))
    no_bus = state("quay-3", bus_mhz=None)
    assert sweep_data([swept(no_first, memory=(15, 17)), swept(no_bus, memory=(15, 17))]) == ()
    assert sweep_data([swept(BARE, cache=(8, 12))]) == ()
    found = sweep_data([swept(BARE, memory=(15, 17))])
    assert [d.workload for d in found] == [MEMORY]
    assert found[0].lo == pytest.approx(math.log(15 / (100 / 3)))


def test_fits_with_and_without_a_sweep_are_kept_apart() -> None:
    runs = book()[:3]
    with_sweep = (*runs, swept(BARE, memory=(15.0, 17.0)))
    other = (*runs, swept(BARE, memory=(15.0, 17.5)))
    assert len({digest((FRAMES,), r) for r in (runs, with_sweep, other)}) == 3
    assert sum(map(is_sweep, collect((FRAMES,), with_sweep).data)) == 1
