"""Every second-level size and number of ways at once: the first level filters, one pass does the rest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from leadoff.memory.geometry import Cache, Hierarchy, Policy, Replacement, SplitCache, power_of_two
from leadoff.memory.kernels import all_ways
from leadoff.memory.levels import Level, placed
from leadoff.memory.placement import Placement, PlacementKind
from leadoff.memory.simulate import Simulator, chunks
from leadoff.record.errors import LeadoffError


class GridPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One geometry: requests that missed by kind, and lines it wrote back."""

    size_kb: float
    ways: int
    read_misses: int
    write_misses: int
    victim_misses: int
    victims_out: int


class Stream(msgspec.Struct, frozen=True, kw_only=True):
    """What left the first level, in order."""

    addr: Any
    info: Any
    references: int


def filtered(source: Any, l1: Cache | SplitCache | None, *, placement: Placement | None = None) -> Stream:
    """The requests that leave ``l1`` for a trace or an iterable of chunks. ``None`` lets all through.

    Where a way of ``l1`` is no longer than a page, pages do not matter to it: placing its stream (``moved``) gives
    the same as placing the trace.
    """
    table = None
    if placement is not None and placement.kind is not PlacementKind.IDENTITY:
        table = placement.table(int(source.top))
    level = Level(l1) if isinstance(l1, Cache) else None
    both = Simulator(Hierarchy(l1=l1)) if isinstance(l1, SplitCache) else None
    out_addr, out_info, total = [], [], 0
    for addr, info in chunks(source):
        total += addr.size
        if table is not None:
            addr = placed(addr, table)
        if level is not None:
            addr, info, _ = level.run(addr, info)
        elif both is not None:
            addr, info = both.through_first(addr, info)
        out_addr.append(addr.copy())
        out_info.append(info.copy())
    empty_a, empty_i = np.empty(0, np.uint32), np.empty(0, np.uint8)
    return Stream(
        addr=np.concatenate([empty_a, *out_addr]),
        info=np.concatenate([empty_i, *out_info]),
        references=total,
    )


def moved(stream: Stream, placement: Placement) -> Stream:
    """The stream with its pages placed."""
    if placement.kind is PlacementKind.IDENTITY or not stream.addr.size:
        return stream
    table = placement.table(int(stream.addr.max()))
    return msgspec.structs.replace(stream, addr=placed(stream.addr, table))


def all_geometries(
    stream: Stream, sizes_kb: Sequence[int], ways: Sequence[int], *, line_bytes: int = 16
) -> tuple[GridPoint, ...]:
    """Counts at every size and number of ways in one pass: last-use order, write-back, stores allocate.

    The stream's requests must each lie in one line, as those that leave a first level do. Sizes and ways
    must be powers of two.
    """
    _check(sizes_kb, ways, line_bytes)
    sets = sorted({size * 1024 // (w * line_bytes) for size in sizes_kb for w in ways})
    depth = np.array(
        [max(w for w in ways if _kb(s, w, line_bytes) in sizes_kb) for s in sets], dtype=np.int64
    )
    bits = np.array([s.bit_length() - 1 for s in sets], dtype=np.int64)
    need = np.array(sets, dtype=np.int64) * depth
    start = np.cumsum(need) - need
    lists = np.full(int(need.sum()), all_ways.NOTHING, dtype=np.int64)
    shape = (len(sets), int(depth.max()) + 1)
    found = np.zeros((4, *shape), dtype=np.int64)
    steps = np.zeros(shape, dtype=np.int64)
    shift = line_bytes.bit_length() - 1
    state = (bits, depth, start, lists)
    all_ways.all_ways(stream.addr, stream.info, shift, *state, found, steps)
    all_ways.settle(*state, steps)
    # A request misses in w ways when its line stood at w or beyond.
    beyond = np.cumsum(found[:, :, ::-1], axis=2)[:, :, ::-1]
    reads, writes, victims = beyond[0] + beyond[3], beyond[1], beyond[2]
    written = np.cumsum(steps, axis=1)
    out = []
    for size in sizes_kb:
        for w in ways:
            g = sets.index(size * 1024 // (w * line_bytes))
            out.append(
                GridPoint(
                    size_kb=size,
                    ways=w,
                    read_misses=int(reads[g, w]),
                    write_misses=int(writes[g, w]),
                    victim_misses=int(victims[g, w]),
                    victims_out=int(written[g, w - 1]),
                )
            )
    return tuple(out)


def one_by_one(
    stream: Stream,
    sizes_kb: Sequence[int],
    ways: Sequence[int],
    *,
    line_bytes: int = 16,
    allocate: bool = True,
    replacement: Replacement = Replacement.LRU,
) -> tuple[GridPoint, ...]:
    """The same by one pass for each geometry: the check of ``all_geometries``, and the only way where stores do
    not allocate (then a store renews a line where it is held and does nothing elsewhere: no inclusion)."""
    _check(sizes_kb, ways, line_bytes)
    out = []
    for size in sizes_kb:
        for w in ways:
            cache = Cache(
                size_kb=size,
                ways=w,
                line_bytes=line_bytes,
                policy=Policy.WRITE_BACK,
                allocate=allocate,
                replacement=replacement,
            )
            level = Level(cache)
            for begin in range(0, stream.addr.size, 1 << 18):
                level.run(stream.addr[begin : begin + (1 << 18)], stream.info[begin : begin + (1 << 18)])
            c = level.counts()
            out.append(
                GridPoint(
                    size_kb=size,
                    ways=w,
                    read_misses=c.read_misses,
                    write_misses=c.write_misses,
                    victim_misses=c.victim_misses,
                    victims_out=c.victims_out,
                )
            )
    return tuple(out)


def _kb(sets: int, ways: int, line_bytes: int) -> float:
    return sets * ways * line_bytes / 1024


def _check(sizes_kb: Sequence[int], ways: Sequence[int], line_bytes: int) -> None:
    wrong = [f"{s} KB" for s in sizes_kb if not power_of_two(int(s)) or int(s) != s]
    wrong += [f"{w} ways" for w in ways if not power_of_two(w)]
    if wrong or not sizes_kb or not ways:
        raise LeadoffError.one(
            "grid_sizes",
            f"{', '.join(wrong) or 'nothing'} in a grid of geometries: sizes and ways must be powers of two, "
            "since address bits choose the set",
            where="sizes_kb",
            do="such as 64, 128, 256 KB and 1, 2, 4 ways",
        )
    for size in sizes_kb:
        for w in ways:
            Cache(size_kb=size, ways=w, line_bytes=line_bytes)
