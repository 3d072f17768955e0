"""What a simulation counted, kept apart by what asked for it."""

from __future__ import annotations

import msgspec


class LevelCounts(msgspec.Struct, frozen=True, kw_only=True):
    """Requests of one level, each line piece counted once (a reference across two lines is two).

    ``reads`` and ``writes`` came as references or as line reads from the level before; ``victims_in`` are lines
    that it wrote back. ``fills`` lines were fetched, ``stores_out`` words passed on, ``victims_out`` lines written
    back, ``victims_passed`` lines written back from above and handed on unchanged; ``bypassed`` lay
    outside of the cacheable range.
    """

    reads: int = 0
    read_misses: int = 0
    writes: int = 0
    write_misses: int = 0
    victims_in: int = 0
    victim_misses: int = 0
    fills: int = 0
    stores_out: int = 0
    victims_out: int = 0
    bypassed: int = 0
    victims_passed: int = 0

    @property
    def misses(self) -> int:
        """Reads and writes that missed; victims from above are not references."""
        return self.read_misses + self.write_misses


class Cases(msgspec.Struct, frozen=True, kw_only=True):
    """Memory accesses by the state of the page: open, bank closed, another page open."""

    page_hit: int = 0
    row_miss: int = 0
    page_miss: int = 0

    @property
    def total(self) -> int:
        """All of them."""
        return self.page_hit + self.row_miss + self.page_miss


class MemoryCounts(msgspec.Struct, frozen=True, kw_only=True):
    """What reached the memory: line reads (or single reads where no cache is), stores, lines written back."""

    fills: Cases = Cases()
    stores: Cases = Cases()
    victims: Cases = Cases()


class Counts(msgspec.Struct, frozen=True, kw_only=True):
    """All counts of one simulation. ``code`` is the code cache of a split first level."""

    references: int
    levels: tuple[LevelCounts, ...]
    memory: MemoryCounts
    code: LevelCounts | None = None
