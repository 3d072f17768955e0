"""Classic reference strings, distances, inclusion, and the 486's tree order."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.memory.grid import Stream, all_geometries, one_by_one
from leadoff.memory.orders import distances, fifo_misses, lru_misses, opt_misses
from leadoff.memory.simulate import simulate

BELADY = [1, 2, 3, 4, 1, 2, 5, 1, 2, 3, 4, 5]
TEXTBOOK = [7, 0, 1, 2, 0, 3, 0, 4, 2, 3, 0, 3, 2, 1, 2, 0, 1, 7, 0, 1]


@pytest.mark.reference
def test_string_of_belady_nelson_and_shedler() -> None:
    # Belady, Nelson, Shedler, CACM 12(6), 1969: the anomaly of FIFO, 9 faults with 3 frames, 10 with 4 (string from
    # memory; LRU and OPT columns computed by hand-checked arithmetic of the fact sheet, timing.md section 7).
    assert [fifo_misses(BELADY, n) for n in range(1, 7)] == [12, 12, 9, 10, 5, 5]
    assert [lru_misses(BELADY, n) for n in range(1, 7)] == [12, 12, 10, 8, 5, 5]
    assert [opt_misses(BELADY, n) for n in range(1, 7)] == [12, 9, 7, 6, 5, 5]
    assert distances(BELADY) == [math.inf] * 4 + [4, 4, math.inf, 3, 3, 5, 5, 5]


@pytest.mark.reference
def test_textbook_string() -> None:
    # Silberschatz, Operating System Concepts, page replacement: LRU 12, FIFO 15, OPT 9 with 3 frames (from memory)
    assert (lru_misses(TEXTBOOK, 3), fifo_misses(TEXTBOOK, 3), opt_misses(TEXTBOOK, 3)) == (12, 15, 9)
    assert [lru_misses(TEXTBOOK, n) for n in range(1, 8)] == [20, 17, 12, 8, 7, 6, 6]


@pytest.mark.reference
@pytest.mark.parametrize("order", ["lru", "fifo"])
@pytest.mark.parametrize("ways", [1, 2, 3, 4, 5, 6])
def test_the_simulator_gives_the_same_misses_on_the_string(order: str, ways: int) -> None:
    addr = np.array(BELADY, dtype=np.uint32) * 16
    info = np.full(addr.size, 3 << 2, dtype=np.uint8)
    shape = Hierarchy(l1=Cache(size_kb=ways * 16 / 1024, ways=ways, replacement=order))
    misses = {"lru": lru_misses, "fifo": fifo_misses}[order](BELADY, ways)
    assert simulate([(addr, info)], shape).levels[0].misses == misses


@given(st.lists(st.integers(0, 11), min_size=1, max_size=120), st.integers(1, 12))
def test_distance_beyond_the_size_is_a_miss_and_opt_is_never_worse(string: list[int], frames: int) -> None:
    held: list[int] = []
    misses = 0
    for r in string:
        if r in held:
            held.remove(r)
        else:
            misses += 1
            held = held[: frames - 1]
        held.insert(0, r)
    # Mattson, Gecsei, Slutz, Traiger, IBM Systems Journal 9(2), 1970: misses(C) = count(distance > C)
    assert lru_misses(string, frames) == misses
    assert lru_misses(string, frames) >= lru_misses(string, frames + 1)
    assert opt_misses(string, frames) <= min(misses, fifo_misses(string, frames))


@given(
    st.lists(st.tuples(st.integers(0, 1023), st.sampled_from([0, 0, 1, 2])), min_size=1, max_size=600),
    st.sampled_from([16, 32]),
)
@settings(max_examples=200, deadline=None)
def test_one_pass_equals_a_pass_for_each_geometry(requests: list[tuple[int, int]], line: int) -> None:
    lines = np.array([a for a, _ in requests], dtype=np.uint32) * line
    info = np.array([k | (line - 1) << 2 for _, k in requests], dtype=np.uint8)
    stream = Stream(addr=lines, info=info, references=lines.size)
    sizes, ways = [1, 2, 4, 8], [1, 2, 4, 8]
    assert all_geometries(stream, sizes, ways, line_bytes=line) == one_by_one(
        stream, sizes, ways, line_bytes=line
    )


@given(st.lists(st.integers(0, 4095), min_size=1, max_size=400))
@settings(max_examples=100, deadline=None)
def test_more_ways_at_the_same_sets_hold_all_that_fewer_hold(lines: list[int]) -> None:
    addr = np.array(lines, dtype=np.uint32) * 16
    stream = Stream(addr=addr, info=np.full(addr.size, 15 << 2, dtype=np.uint8), references=addr.size)
    made = {(p.size_kb, p.ways): p.read_misses for p in all_geometries(stream, [1, 2, 4, 8], [1, 2, 4, 8])}
    assert made[1, 1] >= made[2, 2] >= made[4, 4] >= made[8, 8]  # 64 sets each
    assert made[1, 1] >= made[2, 1] >= made[4, 1] >= made[8, 1]  # direct-mapped: sets are refined


@pytest.mark.reference
def test_tree_order_of_the_486() -> None:
    # Intel486 hardware reference manual (273025) p. 268: three bits for four ways; B0 is set by a use of way 0 or 1,
    # B1 by one of way 0, B2 by one of way 2, and a fill goes to the side not used last, an empty way first.
    sets = 1
    size = sets * 4 * 16 / 1024
    shape = Hierarchy(l1=Cache(size_kb=size, ways=4, replacement="tree"))

    def misses(string: str) -> int:
        addr = np.array([ord(c) - ord("a") for c in string], dtype=np.uint32) * 16
        info = np.full(addr.size, 3 << 2, dtype=np.uint8)
        return simulate([(addr, info)], shape).levels[0].misses

    # abcd fill ways 0-3; B0 then points at ways 0/1, B1 at way 0 (b was last of the pair): e replaces a.
    assert misses("abcde") == 5
    assert misses("abcdeb") == 5
    assert misses("abcdea") == 6
    # After a hit on a, the pair 2/3 is next and c is older of it: e replaces c although b is the oldest by use.
    assert misses("abcdaeb") == 5
    assert misses("abcdaec") == 6
    by_use = Hierarchy(l1=Cache(size_kb=size, ways=4, replacement="lru"))
    addr = np.array([ord(c) - ord("a") for c in "abcdaeb"], dtype=np.uint32) * 16
    assert simulate([(addr, np.full(7, 3 << 2, dtype=np.uint8))], by_use).levels[0].misses == 6


@pytest.mark.reference
def test_tree_is_last_use_for_two_ways() -> None:
    draw = np.random.default_rng(3)
    addr = draw.integers(0, 512, 20000).astype(np.uint32) * 16
    info = np.full(addr.size, 3 << 2, dtype=np.uint8)
    made = [
        simulate([(addr, info)], Hierarchy(l1=Cache(size_kb=4, ways=2, replacement=r))).levels[0]
        for r in ("tree", "lru")
    ]
    assert made[0] == made[1]
