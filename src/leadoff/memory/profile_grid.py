"""The grid of geometries that a profile covers, and what it holds at each."""

from __future__ import annotations

from functools import lru_cache

import msgspec

from leadoff.memory.geometry import Cache, Dram, Policy, Replacement
from leadoff.memory.rows import rows

INNER_QUANTITIES = ("fills", "stores", "victims_l1")
OUTER_QUANTITIES = (
    "fills_memory",
    "stores_memory",
    "victims_missing",
    "victims_l2",
    "row_miss_a",
    "page_miss_a",
    "row_miss_b",
    "page_miss_b",
    "row_miss_c",
    "page_miss_c",
)
"""Per thousand references: lines read from memory, stores and first-level victims that the second level did not
hold, lines that it wrote back as a write-back cache; then shares of memory line reads at the three geometries of
memory (``drams``)."""


class Inner(msgspec.Struct, frozen=True, kw_only=True):
    """A first level of the grid; ``mode`` is none, wt, wb or wb-alloc."""

    size_kb: int
    ways: int
    line_bytes: int
    mode: str

    def cache(self) -> Cache | None:
        """The cache that was simulated; ``None`` for no first level."""
        if self.mode == "none":
            return None
        return Cache(
            size_kb=self.size_kb,
            ways=self.ways,
            line_bytes=self.line_bytes,
            policy=Policy.WRITE_THROUGH if self.mode == "wt" else Policy.WRITE_BACK,
            allocate=self.mode == "wb-alloc",
            replacement=Replacement.TREE if self.line_bytes == 16 and self.ways == 4 else Replacement.LRU,
        )


@lru_cache(maxsize=1)
def inners() -> tuple[Inner, ...]:
    """First levels of the grid, in the order of a profile's arrays."""
    return tuple(
        Inner(size_kb=r[0], ways=r[1], line_bytes=r[2], mode=r[3])
        for r in rows("grid")["first_level"]["rows"]
    )


@lru_cache(maxsize=1)
def outers() -> tuple[tuple[int, int], ...]:
    """Second levels as (KB, ways); (0, 0), none, comes first."""
    level = rows("grid")["second_level"]
    return ((0, 0), *((s, w) for s in level["sizes_kb"] for w in level["ways"]))


@lru_cache(maxsize=1)
def drams() -> tuple[Dram, Dram, Dram]:
    """Memory geometries of the page cases."""
    made = [
        Dram(page_bytes=r[0], banks=r[1], refresh_every=int(rows("grid")["memory"]["refresh_every"]))
        for r in rows("grid")["memory"]["rows"]
    ]
    a, b, c = made
    return a, b, c
