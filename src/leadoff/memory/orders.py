"""One set under the classic replacement orders, and last-use distances: small, plain, for checks and teaching."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence


def distances(references: Sequence[Hashable]) -> list[float]:
    """Last-use distance of each reference: 1 + the number of distinct others since its last use, infinite at
    first use (IBM Technical Disclosure Bulletin, September 1975, IPCOM000084163, read)."""
    order: list[Hashable] = []
    out: list[float] = []
    for r in references:
        if r in order:
            at = order.index(r)
            out.append(at + 1)
            del order[at]
        else:
            out.append(math.inf)
        order.insert(0, r)
    return out


def lru_misses(references: Sequence[Hashable], frames: int) -> int:
    """Misses of ``frames`` places, last use decides: those whose distance is beyond them."""
    return sum(d > frames for d in distances(references))


def fifo_misses(references: Sequence[Hashable], frames: int) -> int:
    """Misses where the oldest fill goes; more places can mean more misses (Belady, Nelson, Shedler 1969)."""
    held: list[Hashable] = []
    misses = 0
    for r in references:
        if r not in held:
            misses += 1
            held = [*held[max(0, len(held) - frames + 1) :], r] if frames > 1 else [r]
    return misses


def opt_misses(references: Sequence[Hashable], frames: int) -> int:
    """Misses where the one used again last goes: no order can do with fewer."""
    held: set[Hashable] = set()
    misses = 0
    for i, r in enumerate(references):
        if r in held:
            continue
        misses += 1
        if len(held) == frames:
            later = references[i + 1 :]
            held.discard(max(held, key=lambda h: later.index(h) if h in later else math.inf))
        held.add(r)
    return misses
