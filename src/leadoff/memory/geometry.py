"""Caches and memory as frozen values, checked once here."""

from __future__ import annotations

from enum import StrEnum
from typing import TypeVar

import msgspec

from leadoff.record.errors import LeadoffError, Problem

E = TypeVar("E", bound=StrEnum)

MAX_WAYS = 64
MAX_LINE_BYTES = 64


class Policy(StrEnum):
    """What a store that hits does: write-through passes it on, write-back keeps it in the line."""

    WRITE_THROUGH = "wt"
    WRITE_BACK = "wb"


class Replacement(StrEnum):
    """Which line of a set goes.

    ``lru`` oldest use; ``tree`` the pseudo-LRU of 486-class parts, three bits for four ways (Intel486 hardware
    reference manual, order 273025, p. 268, read) and the same tree for other powers of two; ``random``
    a repeatable pseudo-random way; ``fifo`` oldest fill; ``lru-reads`` oldest load: stores that hit do not
    renew the order, as some simulators have it.
    """

    LRU = "lru"
    TREE = "tree"
    RANDOM = "random"
    FIFO = "fifo"
    LRU_READS = "lru-reads"


def _member(kind: type[E], word: str, where: str) -> E:
    try:
        return kind(word)
    except ValueError:
        known = ", ".join(kind)
        raise LeadoffError.one(
            where, f"{word!r} is no {where} of a cache", where=where, do=f"known: {known}"
        ) from None


def power_of_two(value: int) -> bool:
    """Whether ``value`` is 1, 2, 4, ..."""
    return value > 0 and value & (value - 1) == 0


class Cache(msgspec.Struct, frozen=True, kw_only=True):
    """One cache. Sizes in KB of 1024 bytes.

    ``allocate``: a store that misses fetches the line. ``cacheable_kb``: addresses from there on pass by as if
    the cache were not there. ``dirty_bit`` False: a write-back cache that cannot tell, so that every line it
    replaces is written. ``fetch_victims``: a line written back from above that is not held is fetched
    first, although it comes whole (some simulators do so; boards do not). Raises LeadoffError with all that is
    wrong.
    """

    size_kb: float
    ways: int = 1
    line_bytes: int = 16
    policy: Policy = Policy.WRITE_BACK
    allocate: bool = False
    replacement: Replacement = Replacement.LRU
    cacheable_kb: int | None = None
    dirty_bit: bool = True
    fetch_victims: bool = False
    seed: int = 1

    def __post_init__(self) -> None:
        # Words such as "wt" are as good as the members, so that rows and callers need no imports.
        msgspec.structs.force_setattr(self, "policy", _member(Policy, self.policy, "policy"))
        msgspec.structs.force_setattr(
            self, "replacement", _member(Replacement, self.replacement, "replacement")
        )
        found = tuple(_wrong(self))
        if found:
            raise LeadoffError(*found)

    @property
    def sets(self) -> int:
        """Number of sets."""
        return int(self.size_kb * 1024) // (self.ways * self.line_bytes)

    @property
    def way_bytes(self) -> int:
        """Bytes of one way: address bits above this do not choose the set."""
        return self.sets * self.line_bytes


def _wrong(cache: Cache) -> list[Problem]:
    out = []
    line, ways = cache.line_bytes, cache.ways
    if not power_of_two(line) or not 4 <= line <= MAX_LINE_BYTES:
        text = f"a line of {line} bytes: it must be a power of two from 4 to {MAX_LINE_BYTES}"
        out.append(
            Problem(code="line_size", text=text, where="line_bytes", do="16 for 386 and 486, 32 above")
        )
        return out
    if not 1 <= ways <= MAX_WAYS:
        text = f"{ways} ways: a cache has 1 to {MAX_WAYS}"
        return [Problem(code="ways", text=text, where="ways", do="1 is direct-mapped")]
    size = cache.size_kb * 1024
    lines = size / (ways * line)
    if size != int(size) or lines != int(lines) or not power_of_two(int(lines)):
        text = (
            f"{cache.size_kb:g} KB in {ways} ways of {line}-byte lines makes {lines:g} sets: "
            "the number of sets must be a power of two, since address bits choose the set"
        )
        out.append(Problem(code="cache_size", text=text, where="size_kb", do=_nearest(size, ways, line)))
    if cache.replacement is Replacement.TREE and not (power_of_two(ways) and ways <= 32):
        text = f"the tree order needs 1, 2, 4, ... 32 ways, not {ways}"
        out.append(Problem(code="tree_ways", text=text, where="replacement", do="use lru"))
    if cache.cacheable_kb is not None and cache.cacheable_kb <= 0:
        text = f"a cacheable range of {cache.cacheable_kb} KB caches nothing"
        out.append(
            Problem(code="cacheable", text=text, where="cacheable_kb", do="leave the cache out instead")
        )
    return out


def _nearest(size: float, ways: int, line: int) -> str:
    unit = ways * line
    if size < unit:
        return f"the smallest is {unit / 1024:g} KB"
    below = unit * 2 ** (int(size // unit).bit_length() - 1)
    return f"nearest sizes: {below / 1024:g} and {2 * below / 1024:g} KB"


class SplitCache(msgspec.Struct, frozen=True, kw_only=True):
    """A first level with separate data and code caches; data references and instruction fetches never meet."""

    data: Cache
    code: Cache

    def __post_init__(self) -> None:
        if self.data.line_bytes != self.code.line_bytes:
            raise LeadoffError.one(
                "split_lines",
                f"data lines of {self.data.line_bytes} and code lines of {self.code.line_bytes} bytes must agree",
                where="line_bytes",
                do="give both the same line",
            )


class Dram(msgspec.Struct, frozen=True, kw_only=True):
    """Memory as the controller sees it: bytes of an open page (over the whole bus) and banks with a page each.

    ``closes``: the controller closes the page after every access. ``refresh_every``: all pages are
    closed after that many requests (0: never); refresh goes by time, requests stand for it.
    """

    page_bytes: int = 4096
    banks: int = 1
    closes: bool = False
    refresh_every: int = 0

    def __post_init__(self) -> None:
        if not power_of_two(self.page_bytes) or self.page_bytes < 256 or not power_of_two(self.banks):
            raise LeadoffError.one(
                "dram_geometry",
                f"pages of {self.page_bytes} bytes in {self.banks} banks: powers of two are needed, pages from 256",
                where="dram",
                do="a 72-pin module of 4 MB on a 32-bit bus has pages of 4096 bytes",
            )


class Hierarchy(msgspec.Struct, frozen=True, kw_only=True):
    """Up to three levels and memory. ``None`` is a level that is not there or switched off."""

    l1: Cache | SplitCache | None
    l2: Cache | None = None
    l3: Cache | None = None
    dram: Dram = Dram()

    def __post_init__(self) -> None:
        lines = [c.line_bytes for c in self.levels()]
        if lines != sorted(lines):
            raise LeadoffError.one(
                "line_order",
                f"lines of {', '.join(map(str, lines))} bytes from the processor out: a line may not be longer "
                "than that of the level behind it, which could not hold it",
                where="line_bytes",
                do="give the outer level at least the inner line",
            )

    def levels(self) -> tuple[Cache, ...]:
        """The caches from the processor out; of a split level the data cache."""
        first = self.l1.data if isinstance(self.l1, SplitCache) else self.l1
        return tuple(c for c in (first, self.l2, self.l3) if c is not None)

    @property
    def first(self) -> Cache | None:
        """The cache that data references meet first inside the processor."""
        return self.l1.data if isinstance(self.l1, SplitCache) else self.l1
