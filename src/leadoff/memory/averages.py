"""Average access time and bus traffic from rates: the closed forms behind an answer, checked by published ones."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.record.errors import LeadoffError


class Stage(msgspec.Struct, frozen=True, kw_only=True):
    """One level: what a look-up costs (clocks or ns, one unit throughout) and its own share of misses."""

    time: float
    miss: float


def mean_access(stages: Sequence[Stage], memory_time: float) -> float:
    """Mean time of a reference where each level is asked after the one before has missed.

    Unit: that of the times. Raises LeadoffError for shares outside of 0 to 1 and negative times.
    """
    total, reach = 0.0, 1.0
    for stage in stages:
        if not 0.0 <= stage.miss <= 1.0 or stage.time < 0.0:
            raise LeadoffError.one(
                "share_range",
                f"a level of time {stage.time:g} that misses {stage.miss:g} of what it is asked: the share must "
                "lie between 0 and 1 and the time may not be negative",
                do="divide misses by requests of the same level",
            )
        total += reach * stage.time
        reach *= stage.miss
    return total + reach * memory_time


def mean_access_beside(hit: float, time: float, memory_time: float) -> float:
    """Mean time where memory is asked at once and dropped on a hit: h t + (1 - h) m."""
    return hit * time + (1.0 - hit) * memory_time


class Traffic(msgspec.Struct, frozen=True, kw_only=True):
    """Words on the bus behind a cache."""

    fills: float
    stores: float
    victims: float

    @property
    def words(self) -> float:
        """All of them."""
        return self.fills + self.stores + self.victims


def write_through_traffic(*, reads: float, writes: float, miss: float, line_words: float) -> Traffic:
    """Words on the bus: lines for reads that miss, every store (no allocation)."""
    return Traffic(fills=reads * miss * line_words, stores=writes, victims=0.0)


def write_back_traffic(
    *, reads: float, writes: float, miss: float, line_words: float, dirty: float
) -> Traffic:
    """Words on the bus: lines for all misses (stores allocate) and the ``dirty`` share of the lines replaced."""
    fills = (reads + writes) * miss * line_words
    return Traffic(fills=fills, stores=0.0, victims=fills * dirty)
