"""Levels of a sweep: the bench example, a thousand generated sweeps, and what is not known is said."""

from __future__ import annotations

import numpy as np
import pytest
from made_sweeps import made_sweep

from leadoff.memory.sweep import Point, Sweep, SweepKind, fill_bounds, parse_sweep, read_sweep
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Source

BENCH = """block KB  read us/KB
1 10.2
2 10.8
4 10.0
8 11.0
16 10.5
32 25.8
64 26.2
128 26.0
256 26.0
512 36.2
1024 35.9
2048 35.9
"""


@pytest.mark.reference
def test_bench_example() -> None:
    # common practice, no source: 33.5 MHz bus, 100.5 MHz core; 10 to 11 us/KB up to 16 KB, 26 up to 256 KB, 36 beyond
    reading = read_sweep(parse_sweep(BENCH), bus_mhz=33.5)
    inner, outer, memory = reading.levels
    assert (inner.size_kb.value, outer.size_kb.value) == (16.0, 256.0)
    assert [x.mb_per_s.value for x in reading.levels] == pytest.approx([97.5, 39.4, 28.4], rel=0.005)
    mib = [(x.mb_per_s.value or 0) * 1e6 / 2**20 for x in reading.levels]
    assert mib == pytest.approx([93.0, 37.6, 27.1], rel=0.005)
    raw = [x.bus_clocks_per_line.value for x in reading.levels]
    assert raw == pytest.approx([5.5, 13.6, 18.8], rel=0.03)
    assert inner.fill_bus_clocks.source is Source.UNDEFINED
    bounds = [(x.fill_bus_clocks.lo, x.fill_bus_clocks.hi) for x in (outer, memory)]
    assert bounds[0] == pytest.approx((8.1, 13.6), rel=0.03)
    assert bounds[1] == pytest.approx((13.3, 18.8), rel=0.04)
    assert outer.fill_bus_clocks.value != raw[1]
    assert "3-2-2-2" in outer.patterns
    assert "2-1-1-1" not in outer.patterns  # 5 clocks: faster than the least the sweep leaves
    assert reading.sure > 0.95
    assert outer.sure > 0.95
    assert fill_bounds(reading).l2_read_clocks == bounds[0]


@pytest.mark.slow
def test_a_thousand_sweeps_with_three_percent_of_noise() -> None:
    draw = np.random.default_rng(20261125)
    right = false = 0
    for _ in range(1000):
        sizes, sweep = made_sweep(draw)
        found = [x.size_kb.value for x in read_sweep(sweep).levels[:-1]]
        right += found == sizes
        false += len(found) > len(sizes)
    assert right >= 990
    assert false <= 10


def test_flat_sweeps_show_no_level() -> None:
    draw = np.random.default_rng(5)
    for _ in range(30):
        points = tuple(
            Point(size_kb=2.0**k, us_per_kb=20 * float(np.exp(0.03 * draw.normal()))) for k in range(12)
        )
        reading = read_sweep(Sweep(kind=SweepKind.WRITE, points=points))
        assert len(reading.levels) == 1


def test_without_a_bus_clock_lines_are_in_ns_only() -> None:
    reading = read_sweep(parse_sweep(BENCH))
    assert reading.levels[1].ns_per_line.value == pytest.approx(26.0 * 1000 / 64, rel=0.01)
    assert reading.levels[1].bus_clocks_per_line.source is Source.UNKNOWN
    assert reading.levels[1].patterns == ()


def test_only_patterns_that_the_board_can_express_are_offered() -> None:
    reading = read_sweep(parse_sweep(BENCH), bus_mhz=33.5, patterns=("2-1-1-1", "3-1-1-1", "3-2-2-2"))
    assert reading.levels[1].patterns == ("3-2-2-2",)


def test_longer_lines_take_more_clocks() -> None:
    a, b = (read_sweep(parse_sweep(BENCH), bus_mhz=33.5, line_bytes=n).levels[1] for n in (16, 32))
    assert b.bus_clocks_per_line.value == pytest.approx(2 * (a.bus_clocks_per_line.value or 0))


def test_a_start_that_pays_for_the_loop_is_left_out_and_said() -> None:
    text = BENCH.replace("1 10.2", "1 14.9")
    reading = read_sweep(parse_sweep(text), bus_mhz=33.5)
    assert [x.size_kb.value for x in reading.levels] == [16.0, 256.0, 2048.0]
    assert any("1 KB left out" in n for n in reading.notes)


def test_first_level_that_is_too_large_to_be_inside_gives_no_lower_bound() -> None:
    text = "64 26 us/KB\n128 26.2 us/KB\n256 25.9 us/KB\n512 36 us/KB\n1024 36.1 us/KB\n2048 35.8 us/KB"
    reading = read_sweep(parse_sweep(text), bus_mhz=33.5)
    first = reading.levels[0].fill_bus_clocks
    assert first.lo is not None
    assert first.lo <= 5.0  # the fastest fill there is
    assert any("cannot be taken off" in n for n in reading.notes)


@pytest.mark.parametrize(
    ("bus", "line", "match"), [(3350.0, 16, "3350 MHz cannot be"), (33.5, 24, "a line of 24 bytes cannot be")]
)
def test_what_cannot_be_is_refused(bus: float, line: int, match: str) -> None:
    with pytest.raises(LeadoffError, match=match):
        read_sweep(parse_sweep(BENCH), bus_mhz=bus, line_bytes=line)


def test_one_point_is_refused_and_few_are_said() -> None:
    with pytest.raises(LeadoffError, match="1 block size: a level shows only by the step"):
        read_sweep(parse_sweep("16 KB 10.5 us/KB"))
    reading = read_sweep(parse_sweep("16 KB 10.5 us/KB\n512 KB 36 us/KB"))
    assert any("cannot be told from two sizes: a step can hide between" in n for n in reading.notes)


def test_missing_sizes_leave_the_size_open() -> None:
    text = "\n".join(line for line in BENCH.splitlines() if not line.startswith(("512", "128 ")))
    outer = read_sweep(parse_sweep(text), bus_mhz=33.5).levels[1]
    assert (outer.size_kb.lo, outer.size_kb.hi) == (256.0, 1024.0)
    assert outer.size_kb.value in (256.0, 512.0)


def test_a_point_between_the_first_level_and_memory_is_no_cache_of_its_own() -> None:
    """Loop and stack share a unified first level: at its own size a block misses a little."""
    for between in (12.0, 14.0, 17.0, 21.0, 26.0):
        text = f"1 10.2, 2 10.1, 4 10.3, 8 10.2, 16 {between}, 32 35.9, 64 36.2, 128 36.1, 256 36.0 us/KB"
        levels = read_sweep(parse_sweep(text), bus_mhz=33.3).levels
        assert len(levels) == 2, between
        assert levels[0].size_kb.value in (8.0, 16.0)
