"""References that straddle the end of the cacheable range: one part is held, the other passes by.

Once they were counted wrongly.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_cache import plain_run
from streams import info_of
from test_filters import assert_same

from leadoff.memory import simulate as module
from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.memory.simulate import Simulator

ORDERS = ("lru", "tree", "random")
END = 2048  # bytes: a range of 2 KB


def counted(hierarchy: Hierarchy, references: list[tuple[int, int, int]], threads: int) -> Any:
    addr = np.array([a for a, _, _ in references], dtype=np.uint32)
    info = info_of(np.array([k for _, k, _ in references]), np.array([s for _, _, s in references]))
    machine = Simulator(hierarchy, threads=threads)
    machine.feed_all([(addr, info)])
    return machine.counts()


def near(end: int) -> Any:
    """References close to the end of the range, across it and beyond, among others to the set of the last line."""
    same_set = st.integers(0, 3).map(lambda k: end - 16 - 128 * k)
    places = st.one_of(same_set, st.integers(end - 15, end - 1), st.integers(end - 80, end + 64))
    kinds, sizes = st.sampled_from([0, 0, 1]), st.sampled_from([2, 4, 8, 16, 33])
    return st.lists(st.tuples(places, kinds, sizes), min_size=1, max_size=120)


@given(
    references=near(END),
    order=st.sampled_from(ORDERS),
    ways=st.sampled_from([1, 2, 4, 8]),
    line=st.sampled_from([16, 32]),
    policy=st.sampled_from(["wb", "wt"]),
    allocate=st.booleans(),
    behind=st.booleans(),
    threads=st.sampled_from([1, 2]),
)
@settings(max_examples=400, deadline=None)
def test_every_count_at_the_end_of_the_range_equals_the_plain_cache(
    references: list[tuple[int, int, int]],
    order: str,
    ways: int,
    line: int,
    policy: Any,
    allocate: bool,
    behind: bool,
    threads: int,
) -> None:
    made: dict[str, Any] = {"policy": policy, "allocate": allocate, "replacement": order, "line_bytes": line}
    limited = Cache(size_kb=4 * ways * line / 1024, ways=ways, cacheable_kb=END // 1024, **made)
    outer = Cache(size_kb=1, ways=2, line_bytes=line, replacement=order)
    hierarchy = Hierarchy(l1=limited, l2=outer if behind else None)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "CHUNK", 50)
        assert_same(counted(hierarchy, references, threads), hierarchy, references)


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("threads", [1, 2])
def test_one_straddle_counted_by_hand(order: str, threads: int) -> None:
    # Two ways of one set of 16 bytes, range 2 KB. Line 127 ends the range, line 128 lies beyond.
    one_set = Cache(size_kb=32 / 1024, ways=2, replacement=order, allocate=True, cacheable_kb=2)  # type: ignore[arg-type]
    references = [
        (2032, 0, 4),  # line 127: miss, fill
        (2044, 0, 8),  # straddles: line 127 hits, 4 bytes beyond pass by as a read
        (2032, 0, 4),  # line 127: hit
        (2044, 1, 8),  # a store that straddles: line 127 becomes dirty, the rest is a store to memory
        (2048, 0, 4),  # beyond: passes by
        (0, 0, 4),  # line 0: miss, the second way
    ]
    counts = counted(Hierarchy(l1=one_set), references, threads)
    level = counts.levels[0]
    assert (level.reads, level.read_misses, level.writes, level.write_misses) == (4, 2, 1, 0)
    # What passes by is counted as that and not among the stores that the level hands on.
    assert (level.bypassed, level.fills, level.stores_out, level.victims_out) == (3, 2, 0, 0)
    # Two fills, two reads that passed by; one store that did.
    assert (counts.memory.fills.total, counts.memory.stores.total, counts.memory.victims.total) == (4, 1, 0)


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("threads", [1, 2])
def test_a_straddle_renews_the_last_line_of_the_range(order: str, threads: int) -> None:
    # Two ways of one set, write-back. Line 0, line 127 by a straddle, line 0 again, line 64, then both again.
    one_set = Cache(size_kb=32 / 1024, ways=2, replacement=order, allocate=True, cacheable_kb=2)  # type: ignore[arg-type]
    references = [(0, 0, 4), (2044, 0, 8), (0, 0, 4), (1024, 0, 4), (0, 0, 4), (2032, 0, 4)]
    hierarchy = Hierarchy(l1=one_set)
    counts = counted(hierarchy, references, threads)
    assert_same(counts, hierarchy, references)
    if order != "random":
        # Line 64 takes the place of line 127, which the straddle used before line 0 was used again.
        assert counts.levels[0].read_misses == 4


@pytest.mark.parametrize("order", ORDERS)
def test_the_plain_cache_would_notice_a_straddle_left_out(order: str) -> None:
    limited = Cache(size_kb=0.25, ways=4, replacement=order, cacheable_kb=2)  # type: ignore[arg-type]
    straddle = [(2044, 0, 8)] * 3
    inside = [(2044, 0, 4)] * 3
    by_straddle, _ = plain_run(Hierarchy(l1=limited), straddle)
    by_inside, _ = plain_run(Hierarchy(l1=limited), inside)
    assert by_straddle[0]["bypassed"] == 3
    assert by_inside[0]["bypassed"] == 0
