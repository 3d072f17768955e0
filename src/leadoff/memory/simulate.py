"""Runs a trace through a hierarchy, chunk by chunk: memory stays flat however long the trace is."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import numpy as np

from leadoff.memory.counts import Counts
from leadoff.memory.geometry import Cache, Hierarchy, SplitCache
from leadoff.memory.kernels.level import CODE
from leadoff.memory.levels import CHUNK, U8, U32, Chunk, Level, Memory, Sieve, placed
from leadoff.memory.placement import Placement, PlacementKind
from leadoff.record.errors import LeadoffError

MOST_THREADS = 3
"""Sifting and the caches take about the same time: more than two threads that sift only wait."""

Progress = Callable[[int, int | None], None]
"""Called with references done and references in all (None when not known)."""


def processors() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Simulator:
    """A hierarchy with its contents; ``feed`` it references, read ``counts`` at any time.

    ``threads``: so many sift references for the first level ahead of the caches (kernels/repeats.py), which the
    caller's own thread keeps between waiting for them; counts are the same whatever their number. ``None``: as many
    as there are processors for this process. A split first level takes one. Raises LeadoffError for less than one.
    """

    def __init__(self, hierarchy: Hierarchy, *, threads: int | None = None) -> None:
        first = hierarchy.l1
        self._split = (Level(first.data), Level(first.code)) if isinstance(first, SplitCache) else None
        plain = (None if self._split else first, hierarchy.l2, hierarchy.l3)
        self._levels = [Level(c) for c in plain if isinstance(c, Cache)]
        self._memory = Memory(hierarchy.dram)
        self._references = 0
        if threads is not None and threads < 1:
            raise LeadoffError.one(
                "threads", f"{threads} threads can do nothing", where="threads", do="one or more"
            )
        alone = self._split is not None or not self._levels
        self._threads = 1 if alone else min(processors() if threads is None else threads, MOST_THREADS)

    def feed(self, addr: U32, info: U8) -> None:
        """Takes references of any number; contents carry over from call to call."""
        if addr.size > CHUNK:
            self.feed_all([(addr, info)])
        else:
            self._references += sum(self._alone(iter([(addr, info)]), None))

    def feed_all(
        self,
        parts: Iterable[Chunk],
        *,
        table: U32 | None = None,
        progress: Callable[[int], None] | None = None,
    ) -> None:
        """Takes any number of parts, pages placed by ``table``; ``progress`` is told the references of each step."""
        steps = (
            (addr[start : start + CHUNK], info[start : start + CHUNK])
            for addr, info in parts
            for start in range(0, addr.size, CHUNK)
        )
        for done in self._ahead(steps, table) if self._threads > 1 else self._alone(steps, table):
            self._references += done
            if progress is not None:
                progress(done)

    def _alone(self, steps: Iterator[Chunk], table: U32 | None) -> Iterator[int]:
        for addr, info in steps:
            size = addr.size
            if table is not None:
                addr = placed(addr, table)
            if self._split is not None:
                addr, info = self.through_first(addr, info)
            self._behind(addr, info, self._levels)
            yield size

    def _ahead(self, steps: Iterator[Chunk], table: U32 | None) -> Iterator[int]:
        first, *rest = self._levels
        workers = self._threads
        free = [Sieve(first.cache) for _ in range(workers + 2)]
        waiting: deque[Future[Sieve]] = deque()

        def oldest() -> int:
            sieve = waiting.popleft().result()
            addr, info, _ = first.run_sifted(sieve)
            size = sieve.found[0].size
            free.append(sieve)
            self._behind(addr, info, rest)
            return size

        with ThreadPoolExecutor(workers) as pool:
            for addr, info in steps:
                waiting.append(pool.submit(free.pop().sift, addr, info, table))
                if not free:
                    yield oldest()
            while waiting:
                yield oldest()

    def _behind(self, addr: U32, info: U8, levels: list[Level]) -> None:
        for level in levels:
            addr, info, _ = level.run(addr, info)
        self._memory.run(addr, info)

    def through_first(self, addr: U32, info: U8) -> Chunk:
        """One chunk through a split first level: its requests, data and code in their order."""
        if self._split is None:
            raise ValueError("the first level of this hierarchy is not split")
        data, code = self._split
        is_code = (info & 3) == CODE
        where_code, where_data = np.flatnonzero(is_code), np.flatnonzero(~is_code)
        da, di, dat = data.run(addr[where_data], info[where_data])
        if where_code.size == 0:
            return da, di
        ca, ci, cat = code.run(addr[where_code], info[where_code])
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


def chunks(source: Any) -> Iterator[Chunk]:
    """References of a trace (anything with ``addr`` and ``info`` arrays) or of an iterable of chunks."""
    addr = getattr(source, "addr", None)
    if addr is None:
        yield from source
        return
    for start in range(0, len(addr), CHUNK):
        yield addr[start : start + CHUNK], source.info[start : start + CHUNK]


def simulate(
    source: Any,
    hierarchy: Hierarchy,
    *,
    placement: Placement | None = None,
    progress: Progress | None = None,
    threads: int | None = None,
) -> Counts:
    """Counts of a whole trace through ``hierarchy``, caches empty at the start.

    ``source`` is a trace or an iterable of (address, info) chunks, made on the fly if need be. With a
    ``placement`` other than identity the source must be a trace, whose top address is known. ``threads``: see
    ``Simulator``.
    """
    machine = Simulator(hierarchy, threads=threads)
    total = len(source.addr) if hasattr(source, "addr") else None
    table = None
    if placement is not None and placement.kind is not PlacementKind.IDENTITY:
        table = placement.table(int(source.top))
    done = 0

    def told(step: int) -> None:
        nonlocal done
        done += step
        if progress is not None:
            progress(done, total)

    machine.feed_all(chunks(source), table=table, progress=told)
    return machine.counts()
