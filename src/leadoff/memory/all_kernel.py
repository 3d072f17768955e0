"""Every size and every number of ways in one pass over a stream of requests, write-backs included.

In a set kept by last use, what w ways hold is contained in what w+1 ways hold (Mattson, Gecsei, Slutz, Traiger,
IBM Systems Journal 9(2), 1970, from memory); with twice the sets, a line that is youngest of its set is youngest
of its half as well (set refinement, Hill and Smith, IEEE Transactions on Computers 38(12), 1989, from memory). So
one list per set serves all ways, and a request may stop at the first number of sets where its line is youngest.
A line is dirty in every cache of at least ``d`` ways (Thompson and Smith, ACM TODS 14(1), 1989, from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

U32 = Any  # arrays of these element types, see kernels.py
U8 = Any
I64 = Any
NEVER_DIRTY = 127


@njit(cache=True, nogil=True, boundscheck=False)
def all_ways(
    addr: U32, info: U8, shift: int, set_bits: I64, depth: I64, start: I64, lines: U32, dirty: U8, push: U8,
    depths: I64, written: I64,
) -> None:  # fmt: skip
    """Reads, stores (allocating) and victims, all of one line, at ``set_bits`` numbers of sets, fewest first.

    Per number of sets ``g``: lists of ``depth[g]`` lines from ``start[g]``. ``depths[kind, g, k]`` counts requests
    whose line was k-th (the number of ways: not there), ``written[g, :]`` summed up the lines written back by 1, 2,
    ... ways. ``push`` says that a store stopped above: the same line at the next ``g`` is dirty too, not yet marked.
    """
    grids = set_bits.size
    for i in range(addr.size):
        line = np.int64(addr[i]) >> shift
        op = info[i] & 3
        store = op == 1 or op == 2
        for g in range(grids):
            ways = depth[g]
            base = start[g] + (line & ((1 << set_bits[g]) - 1)) * ways
            if lines[base] == line:
                if store:
                    dirty[base] = 1
                    push[base] = 1
                break
            # The youngest gives way: what stopped at it must be known one step finer before it moves there.
            if push[base] != 0:
                push[base] = 0
                if g + 1 < grids:
                    other = np.int64(lines[base])
                    finer = start[g + 1] + (other & ((1 << set_bits[g + 1]) - 1)) * depth[g + 1]
                    dirty[finer] = 1
                    push[finer] = 1
            k = 1
            while k < ways and lines[base + k] != line:
                k += 1
            held = k < ways
            d = np.int64(dirty[base + k]) if held else 127
            # In caches of fewer ways than k+1 the line had gone; it was written back where it was dirty. Only where
            # the line stood is counted here, and where dirty stretches begin and end: sums make the rest of it.
            depths[op, g, k] += 1
            if held:
                if d <= k:
                    written[g, d - 1] += 1
                    written[g, k] -= 1
                last = k
            else:
                last = ways - 1
                gone = np.int64(dirty[base + last])
                if gone <= ways:
                    written[g, gone - 1] += 1
                    written[g, ways] -= 1
            for j in range(last, 0, -1):
                lines[base + j] = lines[base + j - 1]
                dirty[base + j] = dirty[base + j - 1]
                push[base + j] = push[base + j - 1]
            lines[base] = line
            push[base] = 0
            if store:
                dirty[base] = 1
            elif held:
                dirty[base] = max(d, k + 1)
            else:
                dirty[base] = 127


@njit(cache=True, nogil=True, boundscheck=False)
def settle(set_bits: I64, depth: I64, start: I64, lines: U32, dirty: U8, push: U8, written: I64) -> None:
    """At the end: marks that stopped above go down, and lines already gone from few ways are counted."""
    grids = set_bits.size
    for g in range(grids):
        ways = depth[g]
        for s in range(1 << set_bits[g]):
            base = start[g] + s * ways
            if push[base] != 0 and g + 1 < grids:
                other = np.int64(lines[base])
                finer = start[g + 1] + (other & ((1 << set_bits[g + 1]) - 1)) * depth[g + 1]
                dirty[finer] = 1
                push[finer] = 1
            for k in range(1, ways):
                if lines[base + k] == 0xFFFFFFFF:
                    break
                d = np.int64(dirty[base + k])
                if d <= k:
                    written[g, d - 1] += 1
                    written[g, k] -= 1
