"""The inner loops: one cache level as a filter of a stream of requests, compiled.

A level without back-invalidation needs nothing from the levels behind it, so a hierarchy is a chain of filters:
each takes requests and hands on the ones that leave it, in order. A request is an address (32 bits) and an
``info`` byte: bits 0-1 what it is, bits 2-7 its bytes minus one. Lines are kept as (line << 1 | dirty).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

READ, WRITE, VICTIM, CODE = 0, 1, 2, 3
EMPTY = np.uint32(0xFFFFFFFF)

# Flags of a level
WRITE_BACK, ALLOCATE, NO_DIRTY_BIT, FETCH_VICTIMS, RENEW_READ, RENEW_WRITE = 1, 2, 4, 8, 16, 32

# Counters of a level
(
    READS,
    READ_MISSES,
    WRITES,
    WRITE_MISSES,
    VICTIMS_IN,
    VICTIM_MISSES,
    FILLS,
    STORES_OUT,
    VICTIMS_OUT,
    BYPASSED,
    PASSED_VICTIMS,
) = range(11)
COUNTERS = 11

# Arrays of these element types; compiled arithmetic promotes otherwise than NumPy's scalars, so no checker helps.
U32 = Any
U8 = Any
I64 = Any


@njit(cache=True, nogil=True, boundscheck=False)
def ordered_level(
    addr: U32, info: U8, tags: U32, ways: int, shift: int, set_mask: int, flags: int, limit: int,
    count: I64, out_addr: U32, out_info: U8, out_at: U32,
) -> int:  # fmt: skip
    """A level whose sets are kept in order of use or of fill, youngest first. Returns the requests handed on.

    The inner loop holds only what most references need: a hit on the youngest, and with four ways a hit on
    another, moved up without a branch. What else can happen comes after it, where it takes no registers from it.
    Requests are counted by the caller; here only misses, pieces after the first (added) and bypasses (taken off).
    """
    write_back = (flags & 1) != 0
    allocate = (flags & 2) != 0
    no_dirty = (flags & 4) != 0
    fetch_victims = (flags & 8) != 0
    renew_read = (flags & 16) != 0
    renew_write = (flags & 32) != 0
    four = ways == 4 and renew_read and renew_write
    through = 0 if write_back else 1
    top = limit - 1
    line_info = ((1 << shift) - 1) << 2
    n = 0
    i = -1
    a: Any = 0
    f: Any = 0
    line: Any = 0
    total = addr.size
    while True:
        while True:
            i += 1
            if i >= total:
                break
            a = np.int64(addr[np.uint64(i)])
            f = np.int64(info[np.uint64(i)])
            line = a >> shift
            store = (f ^ (f >> 1)) & 1
            # All that makes a reference odd in one number: a second line, a store passed on, beyond the limit.
            odd = (((a + (f >> 2)) >> shift) ^ line) | (store & through) | ((top - a) >> 63)
            # Unsigned places: no check for counting from the end is compiled in.
            place_0 = np.uint64((line & set_mask) * ways)
            t0 = np.int64(tags[place_0])
            if (odd | ((t0 >> 1) ^ line)) == 0:
                tags[place_0] = t0 | store
                continue
            if four:
                t1 = np.int64(tags[place_0 + np.uint64(1)])
                t2 = np.int64(tags[place_0 + np.uint64(2)])
                t3 = np.int64(tags[place_0 + np.uint64(3)])
                e1 = t1 >> 1 == line
                e2 = t2 >> 1 == line
                e3 = t3 >> 1 == line
                if (odd == 0) & (e1 | e2 | e3):
                    tags[place_0] = (line << 1) | store | ((t1 & e1) | (t2 & e2) | (t3 & e3)) & 1
                    tags[place_0 + np.uint64(1)] = t0
                    tags[place_0 + np.uint64(2)] = t1 if e2 | e3 else t2
                    tags[place_0 + np.uint64(3)] = t2 if e3 else t3
                    continue
            break
        if i >= total:
            break
        end: Any = a + (f >> 2)
        last = end >> shift
        op = f & 3
        piece_of = (0, 2, 4, 0)[op]
        if line != last:
            f = op | (((1 << shift) - 1 - (a & ((1 << shift) - 1))) << 2)
        while True:
            if a >= limit:
                count[9] += 1
                count[(0, 2, 4, 0)[op]] -= 1
                out_addr[n] = a
                out_info[n] = f
                out_at[n] = i
                n += 1
                if line == last:
                    break
                line += 1
                a = line << shift
                f = op | (min(end - a, (1 << shift) - 1) << 2)
                count[piece_of] += 1
                continue
            base = (line & set_mask) * ways
            is_read: Any = op == 0 or op == 3
            k = 0
            while k < ways:
                found = np.int64(tags[base + k])
                if found >> 1 == line:
                    break
                k += 1
            emit: Any = False
            if k < ways:
                if is_read:
                    if renew_read and k > 0:
                        for j in range(k, 0, -1):
                            tags[base + j] = tags[base + j - 1]
                        tags[base] = found
                else:
                    if write_back:
                        found = found | 1
                    else:
                        emit = True
                    if renew_write and k > 0:
                        for j in range(k, 0, -1):
                            tags[base + j] = tags[base + j - 1]
                        tags[base] = found
                    else:
                        tags[base + k] = found
            else:
                fetch: Any = True
                dirty = 0
                if is_read:
                    count[1] += 1
                else:
                    if op == 1:
                        count[3] += 1
                        fetch = allocate
                    else:
                        count[5] += 1
                        # A whole line comes from above: nothing to fetch unless ours is longer.
                        fetch = allocate and (fetch_victims or ((f >> 2) + 1) < (1 << shift))
                    if write_back and allocate:
                        dirty = 1
                    else:
                        emit = True
                if is_read or allocate:
                    old = np.int64(tags[base + ways - 1])
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
                    for j in range(ways - 1, 0, -1):
                        tags[base + j] = tags[base + j - 1]
                    tags[base] = (line << 1) | dirty
            if emit:
                count[7 if op == 1 else 10] += 1
                out_addr[n] = a
                out_info[n] = f
                out_at[n] = i
                n += 1
            if line == last:
                break
            # The reference goes on in the next line, with the bytes that are left.
            line += 1
            a = line << shift
            f = op | (min(end - a, (1 << shift) - 1) << 2)
            count[piece_of] += 1
    return n


@njit(cache=True, nogil=True, boundscheck=False)
def slotted_level(
    addr: U32, info: U8, tags: U32, bits: U32, ways: int, shift: int, set_mask: int, flags: int, limit: int,
    random_way: bool, count: I64, out_addr: U32, out_info: U8, out_at: U32,
) -> int:  # fmt: skip
    """A level whose lines stay in their way: tree order (``bits`` per set) or a random way (``bits[0]`` is the
    generator's state). An empty way is taken first, as the 486 does."""
    write_back = (flags & 1) != 0
    allocate = (flags & 2) != 0
    no_dirty = (flags & 4) != 0
    fetch_victims = (flags & 8) != 0
    line_info = ((1 << shift) - 1) << 2
    n = 0
    for i in range(addr.size):
        a = np.int64(addr[i])
        f = np.int64(info[i])
        op = f & 3
        line = a >> shift
        end: Any = a + (f >> 2)
        last = end >> shift
        if line != last:
            f = op | (((1 << shift) - 1 - (a & ((1 << shift) - 1))) << 2)
        while True:
            if a >= limit:
                count[9] += 1
                out_addr[n] = a
                out_info[n] = f
                out_at[n] = i
                n += 1
                break
            is_read: Any = op == 0 or op == 3
            at_set = line & set_mask
            base = at_set * ways
            k: Any = 0
            while k < ways and tags[base + k] >> 1 != line:
                k += 1
            if is_read:
                count[0] += 1
            elif op == 1:
                count[2] += 1
            else:
                count[4] += 1
            hit = k < ways
            used = hit
            if hit:
                if not is_read and write_back:
                    tags[base + k] |= 1
            else:
                fetch: Any = True
                if is_read:
                    count[1] += 1
                elif op == 1:
                    count[3] += 1
                    fetch = allocate
                else:
                    count[5] += 1
                    fetch = allocate and (fetch_victims or ((f >> 2) + 1) < (1 << shift))
                if is_read or allocate:
                    k = 0
                    while k < ways and tags[base + k] != 0xFFFFFFFF:
                        k += 1
                    if k == ways:
                        if random_way:
                            # xorshift of 32 bits (Marsaglia 2003, from memory): repeatable on every machine
                            x = np.int64(bits[0])
                            x = (x ^ (x << 13)) & 0xFFFFFFFF
                            x = x ^ (x >> 17)
                            x = (x ^ (x << 5)) & 0xFFFFFFFF
                            bits[0] = x
                            k = (x * ways) >> 32
                        else:
                            # Walk the tree towards the half that was not used last.
                            node = 1
                            while node < ways:
                                node = 2 * node + (1 if (np.int64(bits[at_set]) >> node) & 1 else 0)
                            k = node - ways
                    old = np.int64(tags[base + k])
                    # The line is fetched first; what it replaces waits in a buffer and is written then.
                    if fetch:
                        count[6] += 1
                        out_addr[n] = line << shift
                        out_info[n] = line_info
                        out_at[n] = i
                        n += 1
                    if old != 0xFFFFFFFF and write_back and (no_dirty or (old & 1) != 0):
                        count[8] += 1
                        out_addr[n] = (old >> 1) << shift
                        out_info[n] = line_info | 2
                        out_at[n] = i
                        n += 1
                    dirty = 1 if (not is_read and write_back) else 0
                    tags[base + k] = (line << 1) | dirty
                    used = True
            if not is_read and not (write_back and (hit or allocate)):
                count[7 if op == 1 else 10] += 1
                out_addr[n] = a
                out_info[n] = f
                out_at[n] = i
                n += 1
            if used and not random_way:
                # Point every node on the way's path at the other half.
                tree = np.int64(bits[at_set])
                node = k + ways
                while node > 1:
                    parent = node >> 1
                    if node & 1:
                        tree &= ~(1 << parent)
                    else:
                        tree |= 1 << parent
                    node = parent
                bits[at_set] = tree
            if line == last:
                break
            line += 1
            a = line << shift
            f = op | (min(end - a, (1 << shift) - 1) << 2)
    return n


@njit(cache=True, nogil=True, boundscheck=False)
def memory_cases(
    addr: U32, info: U8, open_row: I64, page_shift: int, bank_mask: int, closes: bool, refresh_every: int,
    state: I64, count: I64,
) -> None:  # fmt: skip
    """Page hit, row miss (page closed) and page miss (another page open) by what was asked.

    ``count`` is 3 by 3: line reads, stores, victims. ``state[0]`` counts requests towards the next refresh."""
    for i in range(addr.size):
        op = info[i] & 3
        kind = 0 if op == 3 else op
        page = np.int64(addr[i]) >> page_shift
        bank = page & bank_mask
        row = page
        if refresh_every > 0:
            state[0] += 1
            if state[0] >= refresh_every:
                state[0] = 0
                for b in range(open_row.size):
                    open_row[b] = -1
        held = open_row[bank]
        if held == row:
            count[kind * 3] += 1
        elif held < 0:
            count[kind * 3 + 1] += 1
        else:
            count[kind * 3 + 2] += 1
        open_row[bank] = -1 if closes else row


@njit(cache=True, nogil=True, boundscheck=False)
def place(addr: U32, table: U32, out: U32) -> None:
    """Physical addresses through a table of pages of 4096 bytes."""
    for i in range(addr.size):
        a = addr[i]
        out[i] = (table[a >> np.uint32(12)] << np.uint32(12)) | (a & np.uint32(4095))


def state_of(sets: int, ways: int) -> Any:
    """An empty tag store."""
    return np.full(sets * ways, EMPTY, dtype=np.uint32)


STORE_OPS = (WRITE, VICTIM)
