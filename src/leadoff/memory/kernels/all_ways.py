"""Every size and every number of ways in one pass over a stream of requests, write-backs included.

In a set kept by last use, what w ways hold is contained in what w+1 ways hold (Mattson, Gecsei, Slutz, Traiger,
IBM Systems Journal 9(2), 1970, from memory); with twice the sets, a line that is youngest of its set is youngest
of its half as well (set refinement, Hill and Smith, IEEE Transactions on Computers 38(12), 1989, from memory). So
one list per set serves all ways, and a request may stop at the first number of sets where its line is youngest.
A line is dirty in every cache of at least ``d`` ways (Thompson and Smith, ACM TODS 14(1), 1989, from memory).

An entry is one number: line << 8 | push << 7 | d. ``push`` says that a store stopped at it: the same line at the
next number of sets is dirty too, not yet marked.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from leadoff.memory.kernels.compiled import entry

U32 = Any  # arrays of these element types, see level.py
U8 = Any
I64 = Any
NOTHING = -129
"""No line (-1), no push, never dirty: an empty place."""


@entry
def all_ways(
    addr: U32,
    info: U8,
    shift: int,
    set_bits: I64,
    depth: I64,
    start: I64,
    lists: I64,
    depths: I64,
    written: I64,
) -> None:
    """Reads, stores (allocating) and victims, all of one line, at ``set_bits`` numbers of sets, fewest first.

    Per number of sets ``g``: lists of ``depth[g]`` entries from ``start[g]``, youngest first. ``depths[kind, g, k]``
    counts requests whose line was k-th (the number of ways: not there), ``written[g, :]`` summed up the lines
    written back by 1, 2, ... ways.
    """
    grids = set_bits.size
    for i in range(addr.size):
        line = np.int64(addr[np.uint64(i)]) >> shift
        op = np.int64(info[np.uint64(i)]) & 3
        store = op == 1 or op == 2
        for g in range(grids):
            ways = depth[g]
            base = start[g] + (line & ((1 << set_bits[g]) - 1)) * ways
            youngest = lists[np.uint64(base)]
            if youngest >> 8 == line:
                if store:
                    lists[np.uint64(base)] = (line << 8) | 0x81
                break
            # The youngest gives way: what stopped at it must be known one step finer before it moves there.
            if youngest & 0x80:
                youngest ^= 0x80
                if g + 1 < grids:
                    other = youngest >> 8
                    finer = start[g + 1] + (other & ((1 << set_bits[g + 1]) - 1)) * depth[g + 1]
                    lists[np.uint64(finer)] = (other << 8) | 0x81
            # Each moves down by one, up to where the line stood or off the end.
            moved = youngest
            k: Any = 1
            while k < ways:
                at = np.uint64(base + k)
                here = lists[at]
                lists[at] = moved
                moved = here
                if here >> 8 == line:
                    break
                k += 1
            depths[op, g, k] += 1
            # In caches of fewer ways than k+1 the line had gone; it was written back where it was dirty. Only where
            # the line stood is counted here, and where dirty stretches begin and end: sums make the rest of it.
            d = moved & 127
            if d <= k:
                written[g, d - 1] += 1
                written[g, k] -= 1
            if store:
                new: Any = 1
            elif k < ways:
                new = max(d, k + 1)
            else:
                new = 127
            lists[np.uint64(base)] = (line << 8) | new


@entry
def settle(set_bits: I64, depth: I64, start: I64, lists: I64, written: I64) -> None:
    """At the end: marks that stopped above go down, and lines already gone from few ways are counted."""
    grids = set_bits.size
    for g in range(grids):
        ways = depth[g]
        for s in range(1 << set_bits[g]):
            base = start[g] + s * ways
            if lists[base] & 0x80 and g + 1 < grids:
                other = lists[base] >> 8
                finer = start[g + 1] + (other & ((1 << set_bits[g + 1]) - 1)) * depth[g + 1]
                lists[finer] = (other << 8) | 0x81
            for k in range(1, ways):
                d = lists[base + k] & 127
                if d <= k:
                    written[g, d - 1] += 1
                    written[g, k] -= 1
