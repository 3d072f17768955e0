"""References through one level, whatever the policy: pieces by line, the cacheable range, hit, fill, write-back.

References are counted by the caller; here are counted misses, pieces after the first (added) and bypasses (taken
off). Lines are kept as (line << 1 | dirty).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from leadoff.memory.kernels.compiled import inner

U32 = Any  # arrays of these element types, see level.py
U8 = Any
I64 = Any
ORDERED, TREE, RANDOM = 0, 1, 2


@inner
def place_in_order(tags: U32, base: int, ways: int, line: int) -> Any:
    """Where a line stands in its set; ``ways`` where it does not."""
    k = 0
    while k < ways and tags[base + k] >> 1 != line:
        k += 1
    return k


@inner
def to_front(tags: U32, base: int, k: int, held: Any) -> None:
    """Moves what stands before place ``k`` down by one and puts ``held`` first."""
    for j in range(k, 0, -1):
        tags[base + j] = tags[base + j - 1]
    tags[base] = held


@inner
def victim_way(tags: U32, bits: U32, base: int, at_set: int, ways: int, order: int) -> Any:
    """The way that a new line takes where lines stay in their way. An empty one first, as the 486 does."""
    k: Any = place_in_order(tags, base, ways, 0x7FFFFFFF)
    if k < ways:
        return k
    if order == 2:
        # xorshift of 32 bits (Marsaglia 2003, from memory): repeatable on every machine
        x = np.int64(bits[0])
        x = (x ^ (x << 13)) & 0xFFFFFFFF
        x = x ^ (x >> 17)
        x = (x ^ (x << 5)) & 0xFFFFFFFF
        bits[0] = x
        return (x * ways) >> 32
    # Walk the tree towards the half that was not used last.
    node: Any = 1
    while node < ways:
        node = 2 * node + ((np.int64(bits[at_set]) >> node) & 1)
    return node - ways


@inner
def point_away(bits: U32, at_set: int, way: int, ways: int) -> None:
    """Points every node on the way's path of the tree at the other half."""
    tree = np.int64(bits[at_set])
    node = way + ways
    while node > 1:
        parent = node >> 1
        if node & 1:
            tree &= ~(1 << parent)
        else:
            tree |= 1 << parent
        node = parent
    bits[at_set] = tree


@inner
def any_sets(
    left: U32, size: int, origin: int, addr: U32, info: U8, tags: U32, bits: U32, order: int, ways: int,
    shift: int, set_mask: int, flags: int, limit: int, count: I64, n: int, out_addr: U32, out_info: U8,
    out_at: U32,
) -> int:  # fmt: skip
    """Takes the first ``size`` of ``left``, places counted from reference ``origin``; returns the number of requests
    handed on so far. ``order``: kept in order of use or fill (``flags`` say which), a tree per set in ``bits``, or a
    random way with the generator's state in ``bits[0]``."""
    write_back = (flags & 1) != 0
    allocate = (flags & 2) != 0
    no_dirty = (flags & 4) != 0
    fetch_victims = (flags & 8) != 0
    renew_read = (flags & 16) != 0
    renew_write = (flags & 32) != 0
    whole = 1 << shift
    line_info = (whole - 1) << 2
    for r in range(size):
        i: Any = origin + np.int64(left[r])
        a: Any = np.int64(addr[i])
        f: Any = np.int64(info[i])
        op = f & 3
        is_read = op == 0 or op == 3
        kind = 0 if is_read else 2 * op
        end = a + (f >> 2)
        line = a >> shift
        last = end >> shift
        while True:
            # The bytes of this line; the reference may go on in the next.
            f = op | (min(end - a, whole - 1 - (a & (whole - 1))) << 2)
            emit: Any = a >= limit
            if emit:
                count[9] += 1
                count[kind] -= 1
            else:
                at_set = line & set_mask
                base = at_set * ways
                k: Any = place_in_order(tags, base, ways, line)
                if k < ways:
                    held = np.int64(tags[base + k])
                    if not is_read:
                        if write_back:
                            held = held | 1
                        else:
                            emit = True
                    tags[base + k] = held
                    if order == 1:
                        point_away(bits, at_set, k, ways)
                    elif order == 0 and k > 0 and (renew_read if is_read else renew_write):
                        to_front(tags, base, k, held)
                else:
                    count[kind + 1] += 1
                    # A whole line comes from above: nothing to fetch unless ours is longer.
                    fetch = is_read or (allocate and (op == 1 or fetch_victims or (f >> 2) + 1 < whole))
                    emit = not is_read and not (write_back and allocate)
                    if is_read or allocate:
                        k = ways - 1 if order == 0 else victim_way(tags, bits, base, at_set, ways, order)
                        old = np.int64(tags[base + k])
                        # The line is fetched first; what it replaces waits in a buffer and is written then.
                        if fetch:
                            count[6] += 1
                            out_addr[n] = line << shift
                            out_info[n] = line_info
                            out_at[n] = i
                            n += 1
                        if write_back and old != 0xFFFFFFFF and (no_dirty or (old & 1) != 0):
                            count[8] += 1
                            out_addr[n] = (old >> 1) << shift
                            out_info[n] = line_info | 2
                            out_at[n] = i
                            n += 1
                        new = (line << 1) | (1 if write_back and not is_read else 0)
                        if order == 0:
                            to_front(tags, base, k, new)
                        else:
                            tags[base + k] = new
                            if order == 1:
                                point_away(bits, at_set, k, ways)
                if emit:
                    count[7 if op == 1 else 10] += 1
            if emit:
                out_addr[n] = a
                out_info[n] = f
                out_at[n] = i
                n += 1
            if line == last:
                break
            line += 1
            a = line << shift
            count[kind] += 1
    return n
