"""Sets of one, two and four ways kept by last use, write-back, stores allocate.

Lines are kept as (line << 1 | dirty), youngest first. One branch tells a reference to the youngest line, which
changes nothing; what is found otherwise, and what that costs, is worked out without another.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from leadoff.memory.kernels.compiled import inner

U32 = Any  # arrays of these element types, see level.py
U8 = Any
I64 = Any
I = np.int64  # noqa: E741 - the word for it in every line here
u32 = np.uint32
P = np.uint64  # unsigned places: no check for counting from the end is compiled in


@inner
def _same(held: Any, key: Any) -> Any:
    """All ones (64 bits) where both are the same line, else zero. A comparison would be compiled to a branch."""
    return (I(u32(held ^ key)) - I(2)) >> I(63)


@njit(nogil=True, boundscheck=False, inline="always")
def _sets(
    ways: int, keys: U32, begin: int, tags: U32, set_mask: int, missed: U32, gone: U32
) -> tuple[int, int]:
    """Takes ``keys`` from ``begin`` on; returns how many missed and the place where it stopped: the end, or a
    reference marked ODD. ``missed`` are the places of those that missed, ``gone`` what each replaced."""
    mask, one = u32(set_mask * ways), u32(1)
    # With one set a read of the next line would look like one of a line stored to.
    room = u32(1 if set_mask else 0)
    n: Any = 0
    j = begin
    while j < keys.size:
        key = keys[P(j)]
        # The set's first place: the store bit is shifted out or masked off.
        at = P(u32(key << one) & mask) if ways > 2 else P((u32(key >> one) * u32(ways)) & mask)
        t0 = tags[at]
        if u32(t0 - key) <= room:
            j += 1
            continue
        if key >= u32(0x80000000):
            break
        # All ones where the line stands there, as masks that choose what moves down.
        e0 = _same(t0, key)
        if ways > 2:
            t1, t2, last = tags[at + P(1)], tags[at + P(2)], tags[at + P(3)]
            e1 = _same(t1, key)
            e2 = _same(t2, key)
            e3 = _same(last, key)
            e01 = e0 | e1
            e012 = e01 | e2
            held = e012 | e3
            tags[at] = u32(key | (t0 & e0) | (t1 & e1) | (t2 & e2) | (last & e3))
            tags[at + P(1)] = u32(t0 ^ ((t0 ^ t1) & e0))
            tags[at + P(2)] = u32(t1 ^ ((t1 ^ t2) & e01))
            tags[at + P(3)] = u32(t2 ^ ((t2 ^ last) & e012))
        elif ways == 2:
            last = tags[at + P(1)]
            e1 = _same(last, key)
            held = e0 | e1
            tags[at] = u32(key | (t0 & e0) | (last & e1))
            tags[at + P(1)] = u32(t0 ^ ((t0 ^ last) & e0))
        else:
            last = t0
            held = e0
            tags[at] = u32(key | (t0 & e0))
        # Written always, kept where the number moves on.
        gone[P(n)] = last
        missed[P(n)] = j
        n += 1 + held
        j += 1
    return n, j


@inner
def few_ways(
    ways: int, keys: U32, begin: int, tags: U32, set_mask: int, missed: U32, gone: U32
) -> tuple[int, int]:
    """The loop for one or two ways."""
    return _sets(ways, keys, begin, tags, set_mask, missed, gone)


@inner
def four_ways(keys: U32, begin: int, tags: U32, set_mask: int, missed: U32, gone: U32) -> tuple[int, int]:
    """The loop with four ways built in."""
    return _sets(4, keys, begin, tags, set_mask, missed, gone)


@inner
def hand_on(
    size: int, missed: U32, gone: U32, keys: U32, places: U32, base: int, info: U8, shift: int, flags: int,
    count: I64, n: int, out_addr: U32, out_info: U8, out_at: U32,
) -> int:  # fmt: skip
    """The requests that ``size`` misses cause; returns the number handed on so far. A key's reference has the index
    ``base`` + its place."""
    line_info = ((1 << shift) - 1) << 2
    no_dirty = (flags >> 2) & 1
    # Info of a line that comes whole: a victim of a line as long as ours; none where victims are fetched first.
    brought = -1 if flags & 8 else line_info | 2
    stores: Any = 0
    victims: Any = 0
    victims_out: Any = 0
    first_out: Any = n
    for r in range(size):
        j = P(missed[P(r)])
        at = base + I(places[j])
        key, old, f = I(keys[j]), I(gone[P(r)]), I(info[P(at)])
        write = I(old != 0xFFFFFFFF) & (old | no_dirty)
        # Written always, kept where the number moves on. The line is fetched first; what it replaces waits.
        out_addr[P(n)] = (key >> 1) << shift
        out_info[P(n)] = line_info
        out_at[P(n)] = at
        n += int(f != brought)
        out_addr[P(n)] = (old >> 1) << shift
        out_info[P(n)] = line_info | 2
        out_at[P(n)] = at
        n += int(write)
        stores += key & 1
        victims += I((f & 3) == 2)
        victims_out += write
    count[1] += size - stores
    count[3] += stores - victims
    count[5] += victims
    count[6] += n - first_out - victims_out
    count[8] += victims_out
    return n
