"""Runs a trace through a hierarchy, chunk by chunk: memory stays flat however long the trace is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leadoff.memory import any_policy, kernels
from leadoff.memory.counts import Cases, Counts, LevelCounts, MemoryCounts
from leadoff.memory.geometry import Cache, Dram, Hierarchy, Policy, Replacement, SplitCache
from leadoff.memory.placement import Placement, PlacementKind
from leadoff.memory.repeats import UNSEEN, kinds_of

CHUNK = 1 << 18
"""References handled at once: the working arrays stay within a few megabytes."""

ORDERS = {Replacement.TREE: any_policy.TREE, Replacement.RANDOM: any_policy.RANDOM}

U32 = NDArray[np.uint32]
U8 = NDArray[np.uint8]
Chunk = tuple[U32, U8]
Progress = Callable[[int, int | None], None]
"""Called with references done and references in all (None when not known)."""


def flags_of(cache: Cache) -> int:
    """The kernel's flags of a cache."""
    order = cache.replacement
    return (
        (kernels.WRITE_BACK if cache.policy is Policy.WRITE_BACK else 0)
        | (kernels.ALLOCATE if cache.allocate else 0)
        | (0 if cache.dirty_bit else kernels.NO_DIRTY_BIT)
        | (kernels.FETCH_VICTIMS if cache.fetch_victims else 0)
        | (kernels.RENEW_READ if order in (Replacement.LRU, Replacement.LRU_READS) else 0)
        | (kernels.RENEW_WRITE if order is Replacement.LRU else 0)
    )


class Level:
    """One cache with its contents. ``run`` takes requests and returns those that leave it, in order."""

    def __init__(self, cache: Cache) -> None:
        self.cache = cache
        self._shift = cache.line_bytes.bit_length() - 1
        self._limit = cache.cacheable_kb * 1024 if cache.cacheable_kb is not None else 1 << 33
        self._flags = flags_of(cache)
        self._tags: U32 = kernels.state_of(cache.sets, cache.ways)
        self._order = ORDERS.get(cache.replacement, any_policy.ORDERED)
        self._bits = np.zeros(cache.sets, dtype=np.uint32)
        if cache.replacement is Replacement.RANDOM:
            self._bits[0] = (cache.seed * 2654435761 + 1) & 0xFFFFFFFF or 1
        self._count = np.zeros(kernels.COUNTERS, dtype=np.int64)
        self._out = (np.empty(0, np.uint32), np.empty(0, np.uint8), np.empty(0, np.uint32))
        self._seen = np.full(cache.sets, UNSEEN, dtype=np.uint32)
        self._work = kernels.work_arrays()

    def run(self, addr: U32, info: U8, *, worst: int = 3) -> tuple[U32, U8, U32]:
        """Requests handed on: address, info and the index of the request that caused each.

        The arrays are reused by the next call. ``worst`` is how many requests one can cause: three, or six when
        a reference may lie across two lines.
        """
        room = worst * addr.size + 8
        if self._out[0].size < room:
            self._out = (np.empty(room, np.uint32), np.empty(room, np.uint8), np.empty(room, np.uint32))
        addr, info = np.ascontiguousarray(addr), np.ascontiguousarray(info)
        self._count_kinds(info)
        c = self.cache
        state = (self._tags, self._bits, self._order)
        shape = (c.ways, self._shift, c.sets - 1, self._flags, self._limit)
        n = kernels.run_level(addr, info, *state, *shape, self._seen, self._count, self._work, *self._out)
        out_addr, out_info, out_at = self._out
        return out_addr[:n], out_info[:n], out_at[:n]

    def _count_kinds(self, info: U8) -> None:
        whole = info.size & ~7
        sums = np.zeros(2, dtype=np.int64)
        kinds_of(info[:whole].view(np.uint64), sums)
        rest = info[whole:] & np.uint8(3)
        stores = int(sums[0]) + int(np.count_nonzero(rest == kernels.WRITE))
        victims = int(sums[1]) + int(np.count_nonzero(rest == kernels.VICTIM))
        self._count[kernels.WRITES] += stores
        self._count[kernels.VICTIMS_IN] += victims
        self._count[kernels.READS] += info.size - stores - victims

    def counts(self) -> LevelCounts:
        """What was counted so far."""
        return LevelCounts(**dict(zip(LevelCounts.__struct_fields__, map(int, self._count), strict=False)))

    def forget_counts(self) -> None:
        """Counting starts again, contents stay: how warming up is left out."""
        self._count[:] = 0


class Memory:
    """Open pages of the memory."""

    def __init__(self, dram: Dram) -> None:
        self._dram = dram
        self._open = np.full(dram.banks, -1, dtype=np.int64)
        self._state = np.zeros(1, dtype=np.int64)
        self._count = np.zeros(9, dtype=np.int64)

    def run(self, addr: U32, info: U8) -> None:
        """Counts requests by page case."""
        d = self._dram
        shift = d.page_bytes.bit_length() - 1
        kernels.memory_cases(
            addr, info, self._open, shift, d.banks - 1, d.closes, d.refresh_every, self._state, self._count
        )

    def counts(self) -> MemoryCounts:
        """What was counted so far."""
        c = [int(x) for x in self._count]
        case = [Cases(page_hit=c[i], row_miss=c[i + 1], page_miss=c[i + 2]) for i in (0, 3, 6)]
        return MemoryCounts(fills=case[0], stores=case[1], victims=case[2])

    def forget_counts(self) -> None:
        """Counting starts again."""
        self._count[:] = 0


class Simulator:
    """A hierarchy with its contents; ``feed`` it references, read ``counts`` at any time."""

    def __init__(self, hierarchy: Hierarchy) -> None:
        first = hierarchy.l1
        self._split = (Level(first.data), Level(first.code)) if isinstance(first, SplitCache) else None
        plain = (None if self._split else first, hierarchy.l2, hierarchy.l3)
        self._levels = [Level(c) for c in plain if isinstance(c, Cache)]
        self._memory = Memory(hierarchy.dram)
        self._references = 0

    def feed(self, addr: U32, info: U8) -> None:
        """Takes references of any number; contents carry over from call to call."""
        for start in range(0, addr.size, CHUNK):
            self._feed(addr[start : start + CHUNK], info[start : start + CHUNK])

    def _feed(self, addr: U32, info: U8) -> None:
        self._references += addr.size
        worst = 6
        if self._split is not None:
            addr, info = self.through_first(addr, info)
            worst = 3
        for level in self._levels:
            addr, info, _ = level.run(addr, info, worst=worst)
            worst = 6 if worst == 6 and addr.size else 3
        self._memory.run(addr, info)

    def through_first(self, addr: U32, info: U8) -> Chunk:
        """One chunk through a split first level: its requests, data and code in their order."""
        if self._split is None:
            raise ValueError("the first level of this hierarchy is not split")
        data, code = self._split
        is_code = (info & 3) == kernels.CODE
        where_code, where_data = np.flatnonzero(is_code), np.flatnonzero(~is_code)
        da, di, dat = data.run(addr[where_data], info[where_data], worst=6)
        if where_code.size == 0:
            return da, di
        ca, ci, cat = code.run(addr[where_code], info[where_code], worst=6)
        order = np.argsort(np.concatenate((where_data[dat], where_code[cat])), kind="stable")
        return np.concatenate((da, ca))[order], np.concatenate((di, ci))[order]

    def counts(self) -> Counts:
        """All counts so far (or since ``forget_counts``)."""
        levels = [level.counts() for level in self._levels]
        if self._split is not None:
            levels.insert(0, self._split[0].counts())
        code = self._split[1].counts() if self._split is not None else None
        return Counts(
            references=self._references, levels=tuple(levels), memory=self._memory.counts(), code=code
        )

    def forget_counts(self) -> None:
        """Counting starts again with the caches as they are."""
        self._references = 0
        for level in (*self._levels, *(self._split or ())):
            level.forget_counts()
        self._memory.forget_counts()


def chunks(source: Any, size: int = CHUNK) -> Iterator[Chunk]:
    """References of a trace (anything with ``addr`` and ``info`` arrays) or of an iterable of chunks."""
    addr = getattr(source, "addr", None)
    if addr is None:
        yield from source
        return
    for start in range(0, len(addr), size):
        yield (
            np.ascontiguousarray(addr[start : start + size]),
            np.ascontiguousarray(source.info[start : start + size]),
        )


def simulate(
    source: Any,
    hierarchy: Hierarchy,
    *,
    placement: Placement | None = None,
    progress: Progress | None = None,
) -> Counts:
    """Counts of a whole trace through ``hierarchy``, caches empty at the start.

    ``source`` is a trace or an iterable of (address, info) chunks, made on the fly if need be. With a
    ``placement`` other than identity the source must be a trace, whose top address is known.
    """
    machine = Simulator(hierarchy)
    total = len(source.addr) if hasattr(source, "addr") else None
    table = None
    if placement is not None and placement.kind is not PlacementKind.IDENTITY:
        table = placement.table(int(source.top))
    done = 0
    for addr, info in chunks(source):
        machine.feed(placed(addr, table) if table is not None else addr, info)
        done += addr.size
        if progress is not None:
            progress(done, total)
    return machine.counts()


def placed(addr: U32, table: U32) -> U32:
    """Addresses moved to their physical pages."""
    out = np.empty_like(addr)
    kernels.place(addr, table, out)
    return out
