"""Sets of one, two and four ways kept by last use, write-back, stores allocate.

Lines are kept as (line << 1 | dirty), youngest first. One branch tells a reference to the youngest line, which
changes nothing; what is found otherwise, and what that costs, is worked out without another.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

U32 = Any  # arrays of these element types, see kernels.py
U8 = Any
I64 = Any
I = np.int64  # noqa: E741 - the word for it in every line here
P = np.uint64  # unsigned places: no check for counting from the end is compiled in


@njit(cache=True, nogil=True, boundscheck=False, inline="always")
def _sets(
    ways: int, keys: U32, begin: int, info: U8, base: int, tags: U32, shift: int, set_mask: int, flags: int,
    count: I64, n: int, out_addr: U32, out_info: U8, out_at: U32,
) -> tuple[int, int]:  # fmt: skip
    """Takes ``keys`` from ``begin`` on; returns the requests handed on so far and the place where it stopped: the
    end, or a reference marked ODD. ``base`` is the index of the first key's reference."""
    line_info = ((1 << shift) - 1) << 2
    no_dirty = (flags >> 2) & 1
    fetch_victims = (flags >> 3) & 1
    read_misses = write_misses = victim_misses = fills = victims_out = 0
    mask = np.uint32(set_mask)
    # With one set a read of the next line would look like one of a line stored to.
    room = np.uint32(1 if set_mask else 0)
    j = begin
    while j < keys.size:
        key_32 = keys[P(j)]
        at = P(np.uint32(key_32 >> np.uint32(1)) & mask) * P(ways)
        first = tags[at]
        if np.uint32(first - key_32) <= room:
            j += 1
            continue
        key, t0 = I(key_32), I(first)
        if key >= 0x80000000:
            break
        f: Any = I(info[P(j)])
        # All ones where the line stands there, as masks that choose what moves down.
        e0 = ((t0 ^ key) - 2) >> 63
        if ways > 2:
            t1, t2, gone = I(tags[at + P(1)]), I(tags[at + P(2)]), I(tags[at + P(3)])
            e1, e2, e3 = ((t1 ^ key) - 2) >> 63, ((t2 ^ key) - 2) >> 63, ((gone ^ key) - 2) >> 63
            e01 = e0 | e1
            e012 = e01 | e2
            miss: Any = 1 + (e012 | e3)
            tags[at] = key | (t0 & e0) | (t1 & e1) | (t2 & e2) | (gone & e3)
            tags[at + P(1)] = t0 ^ ((t0 ^ t1) & e0)
            tags[at + P(2)] = t1 ^ ((t1 ^ t2) & e01)
            tags[at + P(3)] = t2 ^ ((t2 ^ gone) & e012)
        elif ways == 2:
            gone = I(tags[at + P(1)])
            e1 = ((gone ^ key) - 2) >> 63
            miss = 1 + (e0 | e1)
            tags[at] = key | (t0 & e0) | (gone & e1)
            tags[at + P(1)] = t0 ^ ((t0 ^ gone) & e0)
        else:
            gone = t0
            miss = 1 + e0
            tags[at] = key | (t0 & e0)
        victim = (f >> 1) & ((f & 1) ^ 1)
        # A whole line from above needs no fetch unless ours is longer.
        fetch = miss & ((victim ^ 1) | fetch_victims | I((f | 3) != (line_info | 3)))
        write = miss & I(gone != 0xFFFFFFFF) & (gone | no_dirty)
        # Written always, kept where the number moves on. The line is fetched first; what it replaces waits.
        out_addr[P(n)] = (key >> 1) << shift
        out_info[P(n)] = line_info
        out_at[P(n)] = base + j
        n += fetch
        out_addr[P(n)] = (gone >> 1) << shift
        out_info[P(n)] = line_info | 2
        out_at[P(n)] = base + j
        n += write
        store = key & 1
        read_misses += miss & (store ^ 1)
        write_misses += miss & store & (victim ^ 1)
        victim_misses += miss & victim
        fills += fetch
        victims_out += write
        j += 1
    count[1] += read_misses
    count[3] += write_misses
    count[5] += victim_misses
    count[6] += fills
    count[8] += victims_out
    return n, j


@njit(cache=True, nogil=True, boundscheck=False)
def few_ways(
    ways: int, keys: U32, begin: int, info: U8, base: int, tags: U32, shift: int, set_mask: int, flags: int,
    count: I64, n: int, out_addr: U32, out_info: U8, out_at: U32,
) -> tuple[int, int]:  # fmt: skip
    """The loop for one or two ways."""
    return _sets(
        ways, keys, begin, info, base, tags, shift, set_mask, flags, count, n, out_addr, out_info, out_at
    )


@njit(cache=True, nogil=True, boundscheck=False)
def four_ways(
    keys: U32, begin: int, info: U8, base: int, tags: U32, shift: int, set_mask: int, flags: int, count: I64,
    n: int, out_addr: U32, out_info: U8, out_at: U32,
) -> tuple[int, int]:  # fmt: skip
    """The loop with four ways built in."""
    return _sets(
        4, keys, begin, info, base, tags, shift, set_mask, flags, count, n, out_addr, out_info, out_at
    )
