"""The inner loops: one cache level as a filter of a stream of requests, compiled.

A level without back-invalidation needs nothing from the levels behind it, so a hierarchy is a chain of filters:
each takes requests and hands on the ones that leave it, in order. A request is an address (32 bits) and an
``info`` byte: bits 0-1 what it is, bits 2-7 its bytes minus one. Lines are kept as (line << 1 | dirty).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from leadoff.memory import any_policy, quick, repeats
from leadoff.memory.repeats import BLOCK

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
def run_level(
    addr: U32, info: U8, tags: U32, bits: U32, order: int, ways: int, shift: int, set_mask: int, flags: int,
    limit: int, seen: U32, count: I64, work: Any, out_addr: U32, out_info: U8, out_at: U32,
) -> int:  # fmt: skip
    """Requests of a level, each chunk from where the last one left it; returns the number handed on.

    References are counted by the caller. ``seen``: what each set saw last. ``work``: arrays for a block, see
    ``work_arrays``.
    """
    keys, before, same, left = work
    plain = order == 0 and (flags & 51) == 51 and shift > 2 and (ways == 1 or ways == 2 or ways == 4)
    stores_act = (flags & 3) != 3
    # Not where loads alone renew the order. With one set, the key of the next line also differs by one.
    after_store = set_mask != 0 and (flags & 48) != 16
    top = min(limit - 1, 0xFFFFFFFF)
    n = 0
    for start in range(0, addr.size, BLOCK):
        a, f = addr[start : start + BLOCK], info[start : start + BLOCK]
        key = keys[: a.size]
        any_odd = repeats.keys_of(a, f, shift, top, key)
        j: Any = 0
        while j < a.size:
            if plain:
                if ways == 4:
                    size, j = quick.four_ways(key, j, tags, set_mask, left, before)
                else:
                    size, j = quick.few_ways(ways, key, j, tags, set_mask, left, before)
                n = quick.hand_on(
                    size, left, before, key, f, start, shift, flags, count, n, out_addr, out_info, out_at
                )
                if j == a.size:
                    break
                # One that lies in two lines, or out of range.
                left[0] = j
                size = 1
                j += 1
            else:
                if any_odd:
                    repeats.seen_last_odd(a, f, key, seen, shift, set_mask, before)
                else:
                    repeats.seen_last(key, seen, set_mask, before)
                size = repeats.left_over(key, before, after_store, stores_act, same, left)
                j = a.size
            n = any_policy.any_sets(
                left, size, a, f, start, tags, bits, order, ways, shift, set_mask, flags, limit, count, n,
                out_addr, out_info, out_at,
            )  # fmt: skip
    return n


def work_arrays() -> Any:
    """Keys, what was seen before (or what misses replaced), flags and places of one block."""
    return (
        np.empty(BLOCK, np.uint32),
        np.empty(BLOCK + 1, np.uint32),
        np.empty(BLOCK, np.uint8),
        np.empty(BLOCK + 1, np.uint32),
    )


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
