"""Which references can change nothing, found without a branch and without the contents of a cache.

Most references go to the line that their set saw last. Where that reference left the line youngest, the next one
to it moves nothing and misses nothing, whatever the order of replacement; it may only mark the line as stored to,
once. What a set saw last is known from the references alone. So this part of the work needs no contents, and another
thread can do it ahead for the references to come.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from leadoff.memory.kernels.compiled import entry, inner

BLOCK = 2048
"""References in a block: its arrays stay in the first-level cache of the machine that runs this."""

ODD = 0x80000000
"""Mark on a key: lies in two lines, or beyond the cacheable range. Such a one is always looked at, so a set that
has seen UNSEEN, which has the mark, spares nothing."""

UNSEEN = 0xFFFFFFFF

U32 = Any  # arrays of these element types, see level.py
U8 = Any
I64 = Any
u32 = np.uint32
P = np.uint64  # unsigned places: no check for counting from the end is compiled in


@inner
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


@inner
def _left_over(
    keys: U32, base: int, seen: U32, set_mask: int, room: int, acting: int, left: U32, kept: U32, n: Any
) -> Any:
    """Adds the keys that may change something, and their places. No address depends on what was loaded."""
    mask, one, spared, always = u32(set_mask), u32(1), u32(room), u32(acting)
    for j in range(keys.size):
        key = keys[j]
        at = P(u32(key >> one) & mask)
        before = seen[at]
        seen[at] = key
        # Written always, kept where the number moves on.
        left[P(n)] = base + j
        kept[P(n)] = key
        n += np.int64(u32(u32(before - key) | u32(key & always)) > spared)
    return n


@inner
def _left_over_odd(
    addr: U32, info: U8, keys: U32, base: int, shift: int, seen: U32, set_mask: int, room: int, acting: int,
    left: U32, kept: U32, n: Any,
) -> Any:  # fmt: skip
    """The same for a block with marked references: every set that one of them touches has seen nothing."""
    for j in range(keys.size):
        key = np.int64(keys[j])
        left[n] = base + j
        kept[n] = key
        if key < 0x80000000:
            at = (key >> 1) & set_mask
            spared = 0 <= np.int64(seen[at]) - key <= room and not key & acting
            seen[at] = key
            n += 0 if spared else 1
        else:
            line = np.int64(addr[j]) >> shift
            last = (np.int64(addr[j]) + (np.int64(info[j]) >> 2)) >> shift
            while line <= last:
                seen[line & set_mask] = 0xFFFFFFFF
                line += 1
            n += 1
    return n


@entry
def sift(
    addr: U32, info: U8, shift: int, set_mask: int, flags: int, top: int, seen: U32, keys: U32, left: U32,
    kept: U32,
) -> int:  # fmt: skip
    """Places and keys of the references that may change something, nothing seen at their start; returns their number.

    ``flags`` are those of a level: every store may where it is written through or does not allocate; a read after a
    store to its line may where loads alone renew the order. With one set, the key of the next line also differs by
    one. ``keys`` is room for a block, ``left`` and ``kept`` for all and one more.
    """
    acting = 1 if (flags & 3) != 3 else 0
    room = 1 if set_mask != 0 and (flags & 48) != 16 and acting == 0 else 0
    seen[:] = u32(0xFFFFFFFF)
    n: Any = np.int64(0)
    for start in range(0, addr.size, BLOCK):
        a, f = addr[start : start + BLOCK], info[start : start + BLOCK]
        key = keys[: a.size]
        if keys_of(a, f, shift, top, key):
            n = _left_over_odd(a, f, key, start, shift, seen, set_mask, room, acting, left, kept, n)
        else:
            n = _left_over(key, start, seen, set_mask, room, acting, left, kept, n)
    return n  # type: ignore[no-any-return]


@entry
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
