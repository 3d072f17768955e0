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
    PIECES,
) = range(12)
COUNTERS = 12

# Arrays of these element types; compiled arithmetic promotes otherwise than NumPy's scalars, so no checker helps.
U32 = Any
U8 = Any
I64 = Any


@njit(cache=True, nogil=True, boundscheck=False)
def ordered_level(
    addr: U32, info: U8, tags: U32, ways: int, shift: int, set_mask: int, flags: int, limit: int,
    count: I64, out_addr: U32, out_info: U8, out_at: U32,
) -> int:  # fmt: skip
    """A level whose sets are kept in order of use or of fill, youngest first. Returns the requests handed on."""
    write_back = (flags & 1) != 0
    allocate = (flags & 2) != 0
    no_dirty = (flags & 4) != 0
    fetch_victims = (flags & 8) != 0
    renew_read = (flags & 16) != 0
    renew_write = (flags & 32) != 0
    line_info = ((1 << shift) - 1) << 2
    n = 0
    low_bits: Any = 0
    high_bits: Any = 0
    both_bits: Any = 0
    for i in range(addr.size):
        a = np.int64(addr[i])
        f = np.int64(info[i])
        line = a >> shift
        end: Any = a + (f >> 2)
        last = end >> shift
        # All requests are counted by adding up bits: no branch on the way of a hit.
        low_bits += f & 1
        high_bits += (f >> 1) & 1
        both_bits += f & (f >> 1) & 1
        base = (line & set_mask) * ways
        found = np.int64(tags[base])
        if found >> 1 == line and line == last and a < limit:
            stores = (f & 3) == 1 or (f & 3) == 2
            if write_back or not stores:
                tags[base] = found | stores
                continue
        op = f & 3
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
                count[11] += 1
                low_bits += f & 1
                high_bits += (f >> 1) & 1
                both_bits += f & (f >> 1) & 1
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
            count[11] += 1
            low_bits += f & 1
            high_bits += (f >> 1) & 1
            both_bits += f & (f >> 1) & 1
    pieces = addr.size + count[11]
    count[2] += low_bits - both_bits
    count[4] += high_bits - both_bits
    count[0] += pieces - low_bits - high_bits + 2 * both_bits
    count[11] = 0
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
