"""The inner loops: one cache level as a filter of a stream of requests, compiled.

A level without back-invalidation needs nothing from the levels behind it, so a hierarchy is a chain of filters:
each takes requests and hands on the ones that leave it, in order. A request is an address (32 bits) and an
``info`` byte: bits 0-1 what it is, bits 2-7 its bytes minus one. Lines are kept as (line << 1 | dirty).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from leadoff.memory.kernels import any_policy, quick, repeats
from leadoff.memory.kernels.compiled import entry, inner
from leadoff.memory.kernels.repeats import BLOCK

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


@inner
def plain(order: int, ways: int, shift: int, flags: int) -> bool:
    """Kept by last use, write-back, stores allocate, and few ways."""
    return order == 0 and (flags & 51) == 51 and shift > 2 and (ways == 1 or ways == 2 or ways == 4)


@entry
def run_level(
    addr: U32, info: U8, sifted: bool, left: U32, kept: U32, tags: U32, bits: U32, order: int, ways: int,
    shift: int, set_mask: int, flags: int, limit: int, count: I64, missed: U32, gone: U32, out_addr: U32,
    out_info: U8, out_at: U32,
) -> int:  # fmt: skip
    """Requests of a level, each chunk from where the last one left it; returns the number handed on.

    References are counted by the caller. ``left`` and ``kept`` are places and keys that ``repeats.sift`` found; not
    ``sifted``, all are taken, which a plain level only can, and these are room for a block. There the look at the
    youngest line is as quick as sifting, where one thread does both. ``missed`` and ``gone`` are room for a block.
    """
    few = plain(order, ways, shift, flags)
    top = min(limit - 1, 0xFFFFFFFF)
    total = left.size if sifted else addr.size
    if not sifted:
        for i in range(left.size):
            left[i] = i
    n: Any = np.int64(0)
    for start in range(0, total, BLOCK):
        size = min(BLOCK, total - start)
        if sifted:
            base, places, keys = 0, left[start : start + size], kept[start : start + size]
        else:
            base, places, keys = start, left[:size], kept[:size]
            repeats.keys_of(addr[start : start + size], info[start : start + size], shift, top, keys)
        j: Any = np.int64(0)  # no literal, for which all that is called would be compiled once more
        while j < size:
            found = size - j
            if few:
                if ways == 4:
                    found, j = quick.four_ways(keys, j, tags, set_mask, missed, gone)
                else:
                    found, j = quick.few_ways(ways, keys, j, tags, set_mask, missed, gone)
                n = quick.hand_on(
                    found, missed, gone, keys, places, base, info, shift, flags, count, n, out_addr, out_info,
                    out_at,
                )  # fmt: skip
                # One that lies in two lines, or out of range.
                found = min(1, size - j)
            if found > 0:
                n = any_policy.any_sets(
                    places[j:], found, base, addr, info, tags, bits, order, ways, shift, set_mask, flags, limit,
                    count, n, out_addr, out_info, out_at,
                )  # fmt: skip
            j += found
    return n  # type: ignore[no-any-return]


@entry
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


@entry
def place(addr: U32, table: U32, out: U32) -> None:
    """Physical addresses through a table of pages of 4096 bytes."""
    for i in range(addr.size):
        a = addr[i]
        out[i] = (table[a >> np.uint32(12)] << np.uint32(12)) | (a & np.uint32(4095))


def state_of(sets: int, ways: int) -> Any:
    """An empty tag store."""
    return np.full(sets * ways, EMPTY, dtype=np.uint32)


STORE_OPS = (WRITE, VICTIM)
