"""Sweeps from a simulated loop, whose true fill clocks are known, with and without overlap."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from loops import Loop, sweep_of

from leadoff.memory.sweep import SweepKind, fill_bounds, read_sweep

loops = st.builds(
    lambda line, lead2, rest2, more, store2, store_more, overlap: Loop(
        line=line,
        fill_l2=lead2 + 3 * rest2,
        fill_memory=(lead2 + 3 * rest2) * more + 2,
        first=float(lead2),
        store_l2=store2,
        store_memory=store2 + store_more,
        bus_mhz=33.3,
        overlap=overlap,
    ),
    line=st.floats(2.0, 7.0),
    lead2=st.integers(2, 4),
    rest2=st.integers(1, 3),
    more=st.floats(1.3, 2.5),
    store2=st.floats(1.0, 3.0),
    store_more=st.floats(0.0, 2.0),
    overlap=st.booleans(),
)


@given(loops, st.sampled_from([64, 128, 256, 512]))
@settings(max_examples=40, deadline=None)
def test_read_sweep_bounds_hold_the_true_fills(loop: Loop, l2_kb: int) -> None:
    sweep = sweep_of(SweepKind.READ, l2_kb, loop)
    assume(
        sweep.points[-1].us_per_kb > 1.15 * sweep.points[5].us_per_kb
    )  # a smaller step is not called a level
    reading = read_sweep(sweep, bus_mhz=loop.bus_mhz)
    assert [level.size_kb.value for level in reading.levels[:-1]] == [8.0, float(l2_kb)]
    _, second, memory = (level.fill_bus_clocks for level in reading.levels)
    for bounds, truth in ((second, loop.fill_l2), (memory, loop.fill_memory)):
        assert bounds.lo is not None
        assert bounds.hi is not None
        assert bounds.lo <= truth <= bounds.hi
        # and they say something: no wider than the loop's own time and the noise
        assert bounds.hi - bounds.lo <= 1.1 * loop.line + 0.25 * truth


@given(loops)
@settings(max_examples=30, deadline=None)
def test_copy_sweep_bounds_from_above_only(loop: Loop) -> None:
    reading = read_sweep(sweep_of(SweepKind.COPY, 256, loop), bus_mhz=loop.bus_mhz)
    memory = reading.levels[-1].fill_bus_clocks
    assert memory.hi is not None
    assert memory.lo is not None
    assert loop.fill_memory <= memory.hi
    assert memory.lo <= loop.fill_memory
    assert "upper bound only" in memory.why


@given(loops)
@settings(max_examples=20, deadline=None)
def test_write_sweep_does_not_call_its_time_a_fill(loop: Loop) -> None:
    reading = read_sweep(sweep_of(SweepKind.WRITE, 256, loop), bus_mhz=loop.bus_mhz)
    for level in reading.levels:
        assert level.fill_bus_clocks.value is None
        assert level.patterns == ()
    assert fill_bounds(reading).dram_read_clocks is None


@pytest.mark.parametrize("kind", [SweepKind.READ, SweepKind.COPY])
def test_three_percent_of_noise_leaves_the_levels(kind: SweepKind) -> None:
    loop = Loop(
        line=5.5, fill_l2=8, fill_memory=18, first=3, store_l2=2, store_memory=3, bus_mhz=33.5, overlap=True
    )
    reading = read_sweep(sweep_of(kind, 256, loop, noise=0.03), bus_mhz=33.5)
    sizes = [level.size_kb.value for level in reading.levels[:-1]]
    assert sizes[-1] == 256.0
    assert 1.0 <= reading.noise_pct <= 6.0


def test_no_second_level_shows_two_levels() -> None:
    loop = Loop(
        line=4, fill_l2=8, fill_memory=16, first=3, store_l2=2, store_memory=3, bus_mhz=40, overlap=False
    )
    reading = read_sweep(sweep_of(SweepKind.READ, None, loop), bus_mhz=40)
    assert [level.size_kb.value for level in reading.levels] == [8.0, 2048.0]
    assert fill_bounds(reading).l2_read_clocks is None
    bounds = fill_bounds(reading).dram_read_clocks
    assert bounds is not None
    assert bounds[0] <= 16 <= bounds[1]
