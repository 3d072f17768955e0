"""A sweep's loop, simulated clock by clock: the truth behind a sweep is known, so the reader can be judged.

The processor reads (or writes, or copies) a block line by line. A line that is not held costs a fill, of which the
processor waits for the first word and then works while the rest comes in; stores go through a buffer of four
words. The block is gone through twice, the second time is measured.
"""

from __future__ import annotations

import msgspec
import numpy as np

from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.memory.simulate import Simulator
from leadoff.memory.sweep import Point, Sweep, SweepKind


class Loop(msgspec.Struct, frozen=True, kw_only=True):
    """True costs in bus clocks: work on a line, fills by level and their first beat, a store at each level."""

    line: float
    fill_l2: float
    fill_memory: float
    first: float
    store_l2: float
    store_memory: float
    bus_mhz: float
    overlap: bool


def time_of_block(kb: int, kind: SweepKind, hierarchy: Hierarchy, loop: Loop) -> float:
    """Bus clocks for one pass over a block of ``kb``."""
    line_bytes = 16
    lines = kb * 1024 // line_bytes
    machine = Simulator(hierarchy)
    source = np.arange(lines, dtype=np.uint32) * line_bytes + np.uint32(1 << 22)
    load = np.full(lines, (line_bytes - 1) << 2, dtype=np.uint8)
    has_l2 = hierarchy.l2 is not None
    if kind is SweepKind.WRITE:
        addr, info = source, load | 1
    elif kind is SweepKind.COPY:
        target = source + np.uint32(1 << 23)
        addr = np.stack((source, target), axis=1).ravel()
        info = np.tile(np.array([load[0], load[0] | 1], dtype=np.uint8), lines)
    else:
        addr, info = source, load
    machine.feed(addr, info)
    machine.forget_counts()
    machine.feed(addr, info)
    counts = machine.counts()
    levels = counts.levels
    fills = levels[0].fills
    from_memory = counts.memory.fills.total if has_l2 else fills
    stores_memory = counts.memory.stores.total
    stores_l2 = levels[0].stores_out - stores_memory if has_l2 else 0
    work = addr.size * loop.line
    waits = 0.0
    for n, cost in ((fills - from_memory, loop.fill_l2), (from_memory, loop.fill_memory)):
        # With overlap the loop works on words that are there while the others come in.
        hidden = min(cost - loop.first, loop.line) if loop.overlap else 0.0
        waits += n * (cost - max(0.0, hidden))
    for n, cost in ((stores_l2, loop.store_l2), (stores_memory, loop.store_memory)):
        hidden = loop.line if loop.overlap else 0.0
        waits += n * max(0.0, 4 * cost - hidden)
    return work + waits


def sweep_of(kind: SweepKind, l2_kb: int | None, loop: Loop, policy: str = "wt", noise: float = 0.0) -> Sweep:
    """A sweep over 1 KB to 2 MB of a machine with 8 KB inside and ``l2_kb`` on the board."""
    l2 = Cache(size_kb=l2_kb) if l2_kb else None
    shape = Hierarchy(l1=Cache(size_kb=8, ways=4, policy=policy, replacement="lru"), l2=l2)
    draw = np.random.default_rng(8)
    points = []
    for kb in (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048):
        clocks = time_of_block(kb, kind, shape, loop)
        us = clocks / loop.bus_mhz / kb * float(np.exp(noise * draw.normal()))
        points.append(Point(size_kb=kb, us_per_kb=us))
    return Sweep(kind=kind, points=tuple(points))
