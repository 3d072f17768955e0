"""Which references of a block can change nothing, found without a branch.

Most references go to the line that their set saw last. Where that reference left the line youngest, the next one
to it moves nothing and misses nothing, whatever the order of replacement; it may only mark the line as stored to,
once. So a block of references goes through three loops that a processor never mispredicts: numbers of lines
(vectors), what each set saw last, and the list of the references that are left for the cache itself.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

BLOCK = 2048
"""References in a block: its arrays stay in the first-level cache of the machine that runs this."""

ODD = 0x80000000
"""Mark on a key: lies in two lines, or beyond the cacheable range. Such a one is always looked at, so a set that
has seen UNSEEN, which has the mark, spares nothing."""

UNSEEN = 0xFFFFFFFF

U32 = Any  # arrays of these element types, see kernels.py
U8 = Any
I64 = Any
u32 = np.uint32


@njit(cache=True, nogil=True, boundscheck=False)
def keys_of(addr: U32, info: U8, shift: int, top: int, keys: U32) -> int:
    """(line << 1 | store) of each reference, marked ODD where need be; returns whether any is marked."""
    any_odd = u32(0)
    right, lim, within, one, two = u32(shift), u32(top), u32((1 << shift) - 1), u32(1), u32(2)
    for j in range(addr.size):
        a = addr[j]
        f = u32(info[j])
        store = u32(u32(f ^ u32(f >> one)) & one)
        odd = u32(u32(u32(a & within) + u32(f >> two)) > within) | u32(a > lim)
        any_odd |= odd
        keys[j] = u32(u32(u32(u32(a >> right) << one) | store) | u32(odd << u32(31)))
    return np.int64(any_odd)  # type: ignore[return-value]


@njit(cache=True, nogil=True, boundscheck=False)
def seen_last(keys: U32, seen: U32, set_mask: int, before: U32) -> None:
    """What each key's set saw before it; the set has then seen the key. No address depends on what was loaded."""
    mask, one = u32(set_mask), u32(1)
    for j in range(keys.size):
        key = keys[j]
        at = np.uint64(u32(key >> one) & mask)
        before[j] = seen[at]
        seen[at] = key


@njit(cache=True, nogil=True, boundscheck=False)
def seen_last_odd(addr: U32, info: U8, keys: U32, seen: U32, shift: int, set_mask: int, before: U32) -> None:
    """The same for a block with marked references: every set that one of them touches has seen nothing."""
    for j in range(keys.size):
        key = np.int64(keys[j])
        if key < 0x80000000:
            at = (key >> 1) & set_mask
            before[j] = seen[at]
            seen[at] = key
        else:
            line = np.int64(addr[j]) >> shift
            last = (np.int64(addr[j]) + (np.int64(info[j]) >> 2)) >> shift
            before[j] = 0xFFFFFFFF
            while line <= last:
                seen[line & set_mask] = 0xFFFFFFFF
                line += 1


@njit(cache=True, nogil=True, boundscheck=False)
def left_over(keys: U32, before: U32, after_store: bool, stores_act: bool, flags: U8, left: U32) -> int:
    """Places in the block of the references that may change something; returns their number.

    ``stores_act``: every store does (write-through, or a store that misses does not allocate). ``after_store``: a
    read after a store to its line changes nothing.
    """
    room = u32(1) if after_store and not stores_act else u32(0)
    bad = u32(0x80000001) if stores_act else u32(0x80000000)
    for j in range(keys.size):
        key = keys[j]
        flags[j] = np.uint8(u32(before[j] - key) > room) | np.uint8(u32(key & bad) != u32(0))
    n = 0
    for j in range(keys.size):
        left[np.uint64(n)] = j
        n += int(flags[np.uint64(j)])
    return n


@njit(cache=True, nogil=True, boundscheck=False)
def kinds_of(words: Any, sums: I64) -> None:
    """Adds the stores and the victims among info bytes, eight to a word, to ``sums``."""
    low = np.uint64(0x0101010101010101)
    for begin in range(0, words.size, 255):
        part = words[begin : begin + 255]
        stores, victims = np.uint64(0), np.uint64(0)
        for j in range(part.size):
            b0 = part[j] & low
            b1 = (part[j] >> np.uint64(1)) & low
            stores += b0 & ~b1
            victims += b1 & ~b0
        for _ in range(8):
            sums[0] += np.int64(stores & np.uint64(255))
            sums[1] += np.int64(victims & np.uint64(255))
            stores >>= np.uint64(8)
            victims >>= np.uint64(8)
