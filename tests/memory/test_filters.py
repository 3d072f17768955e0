"""The compiled filters against a cache written another way, over every policy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from any_cache import caches
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_cache import plain_run
from streams import info_of, loopy

from leadoff.memory.counts import Counts
from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.memory.simulate import Simulator, simulate

NAMES = (
    "reads",
    "read_misses",
    "writes",
    "write_misses",
    "victims_in",
    "victim_misses",
    "fills",
    "stores_out",
)
NAMES += ("victims_out", "victims_passed", "bypassed")

CACHES = caches(
    sets=st.integers(2, 4),
    ways=st.integers(1, 5),
    policy=st.sampled_from(["wt", "wb"]),
    allocate=st.booleans(),
    order=st.sampled_from(["lru", "fifo", "lru-reads"]),
    limit=st.sampled_from([None, None, 2]),
)


def assert_same(counts: Counts, hierarchy: Hierarchy, trace: list[tuple[int, int, int]]) -> None:
    levels, memory = plain_run(hierarchy, trace)
    for mine, plain in zip(counts.levels, levels, strict=True):
        assert {n: getattr(mine, n) for n in NAMES} == {n: plain[n] for n in NAMES}
    assert counts.memory.fills.total == memory["read"]
    assert counts.memory.stores.total == memory["write"]
    assert counts.memory.victims.total == memory["victim"]


@given(
    levels=st.lists(CACHES, min_size=0, max_size=3),
    references=st.lists(
        st.tuples(st.integers(0, 4095), st.sampled_from([0, 0, 1]), st.sampled_from([1, 2, 4, 8, 16])),
        min_size=1,
        max_size=300,
    ),
)
@settings(max_examples=300, deadline=None)
def test_every_count_equals_the_plain_cache(
    levels: list[Cache], references: list[tuple[int, int, int]]
) -> None:
    levels.sort(key=lambda c: c.line_bytes)
    padded = [*levels, None, None, None][:3]
    hierarchy = Hierarchy(l1=padded[0], l2=padded[1], l3=padded[2])
    addr = np.array([a for a, _, _ in references], dtype=np.uint32)
    info = info_of(np.array([k for _, k, _ in references]), np.array([s for _, _, s in references]))
    machine = Simulator(hierarchy)
    machine.feed(addr, info)
    assert_same(machine.counts(), hierarchy, references)


@pytest.mark.parametrize("order", ["lru", "fifo", "lru-reads", "tree"])
@pytest.mark.parametrize("ways", [1, 2, 4, 8])
def test_long_streams_of_repeats_equal_the_plain_cache(order: str, ways: int) -> None:
    # Longer than a block, with every second reference to a line just seen, stores and loads mixed: what the
    # compiled loops may leave out.
    at, info = loopy(2600, seed=ways, span=1 << 12)
    addr = np.repeat(at, 2)
    again = info_of(np.random.default_rng(ways).integers(0, 2, addr.size), np.full(addr.size, 4))
    again[::2] = info
    references = [(int(a), int(f) & 3, (int(f) >> 2) + 1) for a, f in zip(addr, again, strict=True)]
    for policy, allocate, limit in (
        ("wb", True, None),
        ("wb", True, 3),
        ("wb", False, None),
        ("wt", False, None),
    ):
        made: dict[str, Any] = {"policy": policy, "allocate": allocate, "replacement": order}
        inner = Cache(size_kb=ways / 4, ways=ways, cacheable_kb=limit, **made)
        hierarchy = Hierarchy(l1=inner, l2=Cache(size_kb=2 * ways, ways=ways, **made))
        machine = Simulator(hierarchy)
        machine.feed(addr, again)
        assert_same(machine.counts(), hierarchy, references)


@pytest.mark.parametrize("line", [4, 16, 32])
@pytest.mark.parametrize("allocate", [True, False])
def test_references_of_64_bytes_touch_many_lines(line: int, allocate: bool) -> None:
    # Each causes up to 34 requests: more than there was room for once.
    n = 3000
    at = np.arange(n) * 68 % (1 << 15)
    kinds = np.where(np.arange(n) % 3 == 2, 0, 1)
    references = [(int(a), int(k), 64) for a, k in zip(at, kinds, strict=True)]
    for order in ("lru", "tree"):
        inner = Cache(size_kb=1, ways=4, line_bytes=line, allocate=allocate, replacement=order)  # type: ignore[arg-type]
        hierarchy = Hierarchy(l1=inner, l2=Cache(size_kb=4, line_bytes=line))
        machine = Simulator(hierarchy)
        machine.feed(at.astype(np.uint32), info_of(kinds, np.full(n, 64)))
        assert_same(machine.counts(), hierarchy, references)


def test_columns_of_records_and_read_only_arrays_are_taken() -> None:
    addr, info = loopy(300_000, seed=9)
    records = np.empty(addr.size, dtype=[("addr", "<u4"), ("info", "u1")])
    records["addr"], records["info"] = addr, info
    records.flags.writeable = False
    hierarchy = Hierarchy(l1=Cache(size_kb=1, ways=2, allocate=True), l2=Cache(size_kb=8))
    for threads in (1, 2):
        machine = Simulator(hierarchy, threads=threads)
        machine.feed(records["addr"], records["info"])
        other = Simulator(hierarchy, threads=threads)
        other.feed(addr, info)
        assert machine.counts() == other.counts()


@pytest.mark.parametrize("policy", ["wt", "wb"])
def test_chunks_of_any_length_give_the_same(policy: str) -> None:
    addr, info = loopy(20000, seed=4)
    hierarchy = Hierarchy(
        l1=Cache(size_kb=1, ways=2, policy=policy), l2=Cache(size_kb=8, ways=2, replacement="random")
    )
    whole = Simulator(hierarchy)
    whole.feed(addr, info)
    parts = simulate(((addr[i : i + 777], info[i : i + 777]) for i in range(0, addr.size, 777)), hierarchy)
    assert parts == whole.counts()


def test_no_dirty_bit_writes_every_replaced_line() -> None:
    addr, info = loopy(20000, seed=5)
    for ways in (1, 4):
        told = Cache(size_kb=4, ways=ways)
        blind = Cache(size_kb=4, ways=ways, dirty_bit=False)
        a = simulate([(addr, info)], Hierarchy(l1=told)).levels[0]
        b = simulate([(addr, info)], Hierarchy(l1=blind)).levels[0]
        assert a.fills == b.fills
        assert b.victims_out == b.fills - 4 * 1024 // 16  # all lines in use at the end
        assert a.victims_out < b.victims_out


def test_cacheable_range_sends_the_rest_to_memory() -> None:
    addr, info = loopy(20000, seed=6)
    addr &= np.uint32(0xFFFFFFF0)  # no reference lies across two lines
    limited = Cache(size_kb=16, cacheable_kb=32)
    counts = simulate([(addr, info)], Hierarchy(l1=None, l2=limited))
    above = int((addr >= 32 * 1024).sum())
    assert above > 1000
    level = counts.levels[0]
    assert level.bypassed == above
    stores = int(((addr >= 32 * 1024) & (info & 3 == 1)).sum())
    assert counts.memory.fills.total == above - stores + level.fills
    assert counts.memory.stores.total == stores + level.stores_out


def test_random_order_is_repeatable_and_seeded() -> None:
    addr, info = loopy(20000, seed=7)
    first = [
        simulate([(addr, info)], Hierarchy(l1=Cache(size_kb=2, ways=4, replacement="random", seed=s))).levels[
            0
        ]
        for s in (1, 1, 2)
    ]
    assert first[0] == first[1]
    assert first[0] != first[2]
