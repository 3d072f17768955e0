"""A cache and a memory with their contents: what they are given goes in, what leaves them comes out."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from leadoff.memory.counts import Cases, LevelCounts, MemoryCounts
from leadoff.memory.geometry import Cache, Dram, Policy, Replacement
from leadoff.memory.kernels import any_policy, level, repeats

CHUNK = 1 << 18
"""References handled at once: the working arrays stay within a few megabytes."""

MOST_REQUESTS = 3
"""Requests that a piece of one line can cause at most, and room for one written and not kept."""

ORDERS = {Replacement.TREE: any_policy.TREE, Replacement.RANDOM: any_policy.RANDOM}

U32 = NDArray[np.uint32]
U8 = NDArray[np.uint8]
Chunk = tuple[U32, U8]


def flags_of(cache: Cache) -> int:
    """The kernel's flags of a cache."""
    order = cache.replacement
    return (
        (level.WRITE_BACK if cache.policy is Policy.WRITE_BACK else 0)
        | (level.ALLOCATE if cache.allocate else 0)
        | (0 if cache.dirty_bit else level.NO_DIRTY_BIT)
        | (level.FETCH_VICTIMS if cache.fetch_victims else 0)
        | (level.RENEW_READ if order in (Replacement.LRU, Replacement.LRU_READS) else 0)
        | (level.RENEW_WRITE if order is Replacement.LRU else 0)
    )


class Sieve:
    """What is left of a chunk of references once those that can change nothing at a level are out.

    ``sift`` needs nothing of the level's contents and changes none: it may run ahead, beside the level itself.
    """

    def __init__(self, cache: Cache) -> None:
        self._cache, self._flags = cache, flags_of(cache)
        self._seen = np.empty(cache.sets, np.uint32)
        self._keys = np.empty(repeats.BLOCK, np.uint32)
        self._left, self._kept = np.empty(0, np.uint32), np.empty(0, np.uint32)
        self.found: Chunk = (self._left, np.empty(0, np.uint8))
        self.left = (self._left, self._kept)
        self.kinds = (0, 0, 1)

    def sift(self, addr: U32, info: U8, table: U32 | None = None) -> Sieve:
        """Takes a chunk, pages placed by ``table``; returns itself. Its arrays are reused by the next call."""
        c = self._cache
        addr, info = ready(addr, info)
        if table is not None:
            addr = placed(addr, table)
        if self._left.size <= addr.size:
            self._left, self._kept = np.empty(addr.size + 1, np.uint32), np.empty(addr.size + 1, np.uint32)
        self.kinds = kinds(info)
        shape = (_shift(c), c.sets - 1, self._flags, min(_limit(c) - 1, 0xFFFFFFFF))
        n = repeats.sift(addr, info, *shape, self._seen, self._keys, self._left, self._kept)
        self.found, self.left = (addr, info), (self._left[:n], self._kept[:n])
        return self


class Level:
    """One cache with its contents. ``run`` takes requests and returns those that leave it, in order."""

    def __init__(self, cache: Cache) -> None:
        self.cache = cache
        bits = np.zeros(cache.sets, dtype=np.uint32)
        if cache.replacement is Replacement.RANDOM:
            bits[0] = (cache.seed * 2654435761 + 1) & 0xFFFFFFFF or 1
        order = ORDERS.get(cache.replacement, any_policy.ORDERED)
        flags = flags_of(cache)
        shape = (cache.ways, _shift(cache), cache.sets - 1, flags, _limit(cache))
        self._count = np.zeros(level.COUNTERS, dtype=np.int64)
        block = [np.empty(repeats.BLOCK + 1, np.uint32) for _ in range(4)]
        tags = level.state_of(cache.sets, cache.ways)
        self._state: tuple[Any, ...] = (tags, bits, order, *shape, self._count, block[0], block[1])
        self._block = (block[2], block[3])
        self._sieve = None if level.plain(order, cache.ways, _shift(cache), flags) else Sieve(cache)
        self._out = (np.empty(0, np.uint32), np.empty(0, np.uint8), np.empty(0, np.uint32))

    def run(self, addr: U32, info: U8) -> tuple[U32, U8, U32]:
        """Requests handed on: address, info and the index of the request that caused each.

        The arrays are reused by the next call.
        """
        addr, info = ready(addr, info)
        if self._sieve is not None:
            return self.run_sifted(self._sieve.sift(addr, info))
        return self._run(addr, info, kinds(info), False, self._block, addr.size)

    def run_sifted(self, sieve: Sieve) -> tuple[U32, U8, U32]:
        """The same for references that were sifted for this level's cache."""
        return self._run(*sieve.found, sieve.kinds, True, sieve.left, sieve.left[0].size)

    def _run(
        self, addr: U32, info: U8, of: tuple[int, int, int], sifted: bool, left: tuple[U32, U32], taken: int
    ) -> tuple[U32, U8, U32]:
        stores, victims, widest = of
        self._count[level.WRITES] += stores
        self._count[level.VICTIMS_IN] += victims
        self._count[level.READS] += addr.size - stores - victims
        # Lines that the widest may touch; of each a fill, what it replaces and the rest of a store.
        line = self.cache.line_bytes
        room = MOST_REQUESTS * (1 + (widest + line - 2) // line) * taken
        if self._out[0].size < room:
            self._out = (np.empty(room, np.uint32), np.empty(room, np.uint8), np.empty(room, np.uint32))
        given: tuple[Any, ...] = (addr, info, sifted, *left, *self._state, *self._out)
        n = level.run_level(*given)
        out_addr, out_info, out_at = self._out
        return out_addr[:n], out_info[:n], out_at[:n]

    def counts(self) -> LevelCounts:
        """What was counted so far."""
        return LevelCounts(**dict(zip(LevelCounts.__struct_fields__, map(int, self._count), strict=False)))

    def forget_counts(self) -> None:
        """Counting starts again, contents stay: how warming up is left out."""
        self._count[:] = 0


def _shift(cache: Cache) -> int:
    return cache.line_bytes.bit_length() - 1


def _limit(cache: Cache) -> int:
    return cache.cacheable_kb * 1024 if cache.cacheable_kb is not None else 1 << 33


def ready(addr: U32, info: U8) -> Chunk:
    """The same references as the compiled loops want them: in one piece, and not read-only, which would be another
    type to them, for which all would be compiled once more."""
    return np.require(addr, np.uint32, ["C", "A", "W"]), np.require(info, np.uint8, ["C", "A", "W"])


def kinds(info: U8) -> tuple[int, int, int]:
    """Number of stores and of victims, and the bytes of the widest."""
    whole = info.size & ~7
    sums = np.zeros(2, dtype=np.int64)
    repeats.kinds_of(info[:whole].view(np.uint64), sums)
    rest = info[whole:] & np.uint8(3)
    stores = int(sums[0]) + int(np.count_nonzero(rest == level.WRITE))
    victims = int(sums[1]) + int(np.count_nonzero(rest == level.VICTIM))
    return stores, victims, 1 + (int(info.max(initial=0)) >> 2)


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
        addr, info = ready(addr, info)
        level.memory_cases(
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


def placed(addr: U32, table: U32) -> U32:
    """Addresses moved to their physical pages."""
    addr = np.require(addr, np.uint32, ["C", "A", "W"])
    out: Any = np.empty_like(addr)
    level.place(addr, table, out)
    return out  # type: ignore[no-any-return]
