"""Counts are the same, integer by integer, whatever the number of threads."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from any_cache import caches
from hypothesis import given, settings
from hypothesis import strategies as st
from streams import info_of, loopy

from leadoff.memory import simulate as module
from leadoff.memory.counts import Counts
from leadoff.memory.geometry import Cache, Dram, Hierarchy, SplitCache
from leadoff.memory.placement import Placement
from leadoff.memory.simulate import Simulator, simulate
from leadoff.memory.traces import Trace
from leadoff.record.errors import LeadoffError

CACHES = caches(
    sets=st.integers(0, 5),
    ways=st.sampled_from([1, 2, 4, 8]),
    policy=st.sampled_from(["wt", "wb", "wb"]),
    allocate=st.sampled_from([False, True, True]),
    order=st.sampled_from(["lru", "lru", "fifo", "lru-reads", "tree", "random"]),
    limit=st.sampled_from([None, None, 2, 3]),
)


@given(
    levels=st.lists(CACHES, min_size=0, max_size=3),
    dram=st.sampled_from([Dram(), Dram(page_bytes=256, banks=2, refresh_every=7), Dram(closes=True)]),
    kind=st.sampled_from(["identity", "random", "coloured"]),
    seed=st.integers(0, 1000),
    step=st.sampled_from([1, 17, 64, 4096]),
    threads=st.integers(2, 4),
)
@settings(max_examples=150, deadline=None)
def test_threads_count_the_same(
    levels: list[Cache], dram: Dram, kind: Any, seed: int, step: int, threads: int
) -> None:
    levels.sort(key=lambda c: c.line_bytes)
    padded = [*levels, None, None, None][:3]
    hierarchy = Hierarchy(l1=padded[0], l2=padded[1], l3=padded[2], dram=dram)
    # References across two lines and beyond the range are in it.
    addr, info = loopy(300, seed, span=1 << 13)
    trace = Trace(name="made", form="made", addr=addr, info=info)
    with pytest.MonkeyPatch.context() as patch:
        # Chunks so small that contents are carried over many of them.
        patch.setattr(module, "CHUNK", step)
        made = [
            simulate(trace, hierarchy, placement=Placement(kind=kind, seed=seed, colours=2), threads=t)
            for t in (1, threads)
        ]
    assert made[0] == made[1]
    assert made[0].references == 300


def test_a_long_feed_in_parts_is_the_same_on_threads() -> None:
    addr, info = loopy(700_000, seed=11)
    hierarchy = Hierarchy(l1=Cache(size_kb=4, ways=4, allocate=True), l2=Cache(size_kb=32))
    made: list[Counts] = []
    for threads, cuts in ((1, (0, 700_000)), (2, (0, 700_000)), (3, (0, 5, 400_000, 400_001, 700_000))):
        machine = Simulator(hierarchy, threads=threads)
        for begin, end in pairwise(cuts):
            machine.feed(addr[begin:end], info[begin:end])
        made.append(machine.counts())
    assert made[0] == made[1] == made[2]
    assert made[0].levels[0].misses > 10_000


def test_progress_and_a_source_that_fails_on_threads() -> None:
    addr, info = loopy(1000, seed=1)
    told: list[tuple[int, int | None]] = []
    simulate(
        [(addr, info)] * 5,
        Hierarchy(l1=Cache(size_kb=1)),
        threads=2,
        progress=lambda a, b: told.append((a, b)),
    )
    assert told == [(1000 * k, None) for k in range(1, 6)]

    def breaks() -> Any:
        yield addr, info
        raise OSError("the file is gone")

    with pytest.raises(OSError, match="the file is gone"):
        simulate(breaks(), Hierarchy(l1=Cache(size_kb=1)), threads=2)


def test_threads_that_cannot_be_and_levels_that_take_one() -> None:
    with pytest.raises(LeadoffError, match="0 threads"):
        Simulator(Hierarchy(l1=Cache(size_kb=1)), threads=0)
    half = Cache(size_kb=1)
    addr = np.arange(600, dtype=np.uint32) * 8
    info = info_of(np.resize(np.array([0, 3, 1]), 600), np.full(600, 4))
    for first in (None, SplitCache(data=half, code=half)):
        made = [simulate([(addr, info)] * 3, Hierarchy(l1=first), threads=t) for t in (1, 4)]
        assert made[0] == made[1]
