"""Page placement and page cases of memory."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from leadoff.memory.geometry import Cache, Dram, Hierarchy
from leadoff.memory.grid import filtered, moved, one_by_one
from leadoff.memory.placement import Placement
from leadoff.memory.simulate import simulate
from leadoff.memory.traces import Trace
from leadoff.record.errors import LeadoffError

WORD = 3 << 2


def reads(addresses: list[int]) -> tuple[np.ndarray, np.ndarray]:
    addr = np.array(addresses, dtype=np.uint32)
    return addr, np.full(addr.size, WORD, dtype=np.uint8)


def cyclic(kb: int, rounds: int) -> Trace:
    addr, info = reads(list(range(0, kb * 1024, 16)) * rounds)
    return Trace(name="cyclic", form="made", addr=addr, info=info)


@pytest.mark.parametrize("kind", ["identity", "random", "coloured"])
def test_a_placement_is_one_to_one_and_repeatable(kind: str) -> None:
    table = Placement(kind=kind, seed=3, ram_kb=4096).table(2 * 1024 * 1024)  # type: ignore[arg-type]
    again = Placement(kind=kind, seed=3, ram_kb=4096).table(2 * 1024 * 1024)  # type: ignore[arg-type]
    assert len(set(table.tolist())) == table.size == 513
    assert np.array_equal(table, again)
    if kind == "coloured":
        assert np.array_equal(table % 16, np.arange(513) % 16)


def test_scattered_pages_collide_and_colours_do_not() -> None:
    # 192 KB of 256 in one piece never collide; scattered, pages share places by chance; with 64 colours as many
    # as the cache has pages they lie as if in one piece.
    shape = Hierarchy(l1=None, l2=Cache(size_kb=256))
    trace = cyclic(192, 3)
    cold = 192 * 64
    made = {
        kind: simulate(trace, shape, placement=Placement(kind=kind, colours=64)).levels[0].misses  # type: ignore[arg-type]
        for kind in ("identity", "random", "coloured")
    }
    assert made["identity"] == made["coloured"] == cold
    assert made["random"] > 1.3 * cold


def test_scattered_misses_follow_the_binomial_law() -> None:
    # 64 pages in 64 places at random: a page has its place alone with chance (1 - 1/64)^63 = 0.371 (arithmetic)
    shape = Hierarchy(l1=None, l2=Cache(size_kb=256))
    trace = cyclic(256, 2)
    shares = []
    for seed in range(30):
        misses = (
            simulate(trace, shape, placement=Placement(kind="random", seed=seed, ram_kb=1 << 18))
            .levels[0]
            .misses
        )  # type: ignore[arg-type]
        shares.append((misses - 256 * 64) / (256 * 64))
    assert np.mean(shares) == pytest.approx(1 - (1 - 1 / 64) ** 63, abs=0.025)


def test_placing_the_stream_equals_placing_the_trace(kit_trace: Callable[[str, int], Trace]) -> None:
    trace = kit_trace("windows64", 4)
    where = Placement(kind="random", seed=9)  # type: ignore[arg-type]
    inner = Cache(size_kb=16, ways=4)
    late = moved(filtered(trace, inner), where)
    early = filtered(trace, inner, placement=where)
    assert one_by_one(late, [64, 128], [1, 2]) == one_by_one(early, [64, 128], [1, 2])


def test_placement_that_cannot_be_is_refused() -> None:
    with pytest.raises(LeadoffError, match="power of two are needed"):
        Placement(colours=12)
    with pytest.raises(LeadoffError, match="'shuffled' is no way"):
        Placement(kind="shuffled")  # type: ignore[arg-type]


def cases(addresses: list[int], dram: Dram) -> tuple[int, int, int]:
    fills = simulate([reads(addresses)], Hierarchy(l1=None, dram=dram)).memory.fills
    return fills.page_hit, fills.row_miss, fills.page_miss


def test_page_cases_by_hand() -> None:
    dram = Dram(page_bytes=4096, banks=2)
    # first touch of a bank: closed; same page: hit; other page of the same bank: page miss; other bank: its own page
    assert cases([0, 16, 4096, 32, 8192, 0, 4100], dram) == (3, 2, 2)
    assert cases([0, 16, 4096, 32], Dram(page_bytes=4096, banks=1)) == (1, 1, 2)
    assert cases([0, 16, 32, 48], Dram(page_bytes=4096, closes=True)) == (0, 4, 0)
    # refresh closes all pages with every third request
    assert cases([0, 4, 8, 12, 16, 20], Dram(page_bytes=4096, refresh_every=3)) == (3, 3, 0)


def test_kinds_of_requests_are_counted_apart() -> None:
    addr = np.array([0, 16, 32, 0], dtype=np.uint32)
    info = np.array([WORD, WORD | 1, WORD | 1, WORD], dtype=np.uint8)
    memory = simulate([(addr, info)], Hierarchy(l1=None)).memory
    assert (memory.fills.total, memory.stores.total, memory.victims.total) == (2, 2, 0)
    back = simulate([(addr, info)], Hierarchy(l1=Cache(size_kb=1 / 32, ways=1, allocate=True))).memory
    assert (back.fills.total, back.stores.total, back.victims.total) == (4, 0, 1)


def test_split_level_keeps_code_and_data_apart_and_in_order() -> None:
    from leadoff.memory.geometry import SplitCache

    half = Cache(size_kb=1, ways=1, line_bytes=32)
    addr = np.array([0, 0, 1024, 0, 1024, 0], dtype=np.uint32)
    info = np.array([WORD, WORD | 3, WORD | 3, WORD, WORD, WORD | 3], dtype=np.uint8)
    split = simulate([(addr, info)], Hierarchy(l1=SplitCache(data=half, code=half)))
    assert split.code is not None
    assert (split.levels[0].reads, split.levels[0].misses) == (3, 2)
    assert (split.code.reads, split.code.misses) == (3, 3)
    assert split.memory.fills.total == 5
    unified = simulate([(addr, info)], Hierarchy(l1=half))
    assert (unified.levels[0].reads, unified.levels[0].misses) == (6, 5)
    with pytest.raises(LeadoffError, match="must agree"):
        SplitCache(data=half, code=Cache(size_kb=1))


def test_long_streams_take_no_more_memory() -> None:
    import tracemalloc

    def made(chunks: int):  # type: ignore[no-untyped-def]
        addr = (np.arange(1 << 16, dtype=np.uint32) * 20) % (1 << 20)
        info = np.full(addr.size, WORD, dtype=np.uint8)
        for _ in range(chunks):
            yield addr, info

    shape = Hierarchy(l1=Cache(size_kb=8, ways=4), l2=Cache(size_kb=256))
    peaks = []
    for chunks in (4, 80):
        tracemalloc.start()
        assert simulate(made(chunks), shape).references == chunks << 16
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 1.1 * peaks[0]
