"""Closed forms against published examples."""

from __future__ import annotations

import pytest

from leadoff.memory.averages import (
    Stage,
    mean_access,
    mean_access_beside,
    write_back_traffic,
    write_through_traffic,
)
from leadoff.record.errors import LeadoffError


@pytest.mark.reference
def test_write_through_against_copy_back_traffic() -> None:
    # Flynn, Computer Architecture, 1995, p. 283 (read): 100 instructions, 168 reads and 32 writes, 5 % misses, lines
    # of 8 words, 30 % dirty: 99.2 words against 104
    through = write_through_traffic(reads=168, writes=32, miss=0.05, line_words=8)
    back = write_back_traffic(reads=168, writes=32, miss=0.05, line_words=8, dirty=0.30)
    assert through.words == pytest.approx(99.2)
    assert back.words == pytest.approx(104.0)
    assert (through.words / 200, back.words / 200) == pytest.approx((0.496, 0.52))


@pytest.mark.reference
def test_mean_access_examples() -> None:
    # one level, memory asked at once: h 0.8, 10 ns, 100 ns (IES 2018 paper, gateoverflow.in/191774, read)
    assert mean_access_beside(0.8, 10, 100) == pytest.approx(28.0)
    # 1000 references, 40 first-level and 10 second-level misses; 1, 15, 200 clocks (GATE item, read)
    assert mean_access([Stage(time=1, miss=0.04), Stage(time=15, miss=0.25)], 200) == pytest.approx(3.6)
    # Hennessy and Patterson, appendix B (from memory): 1 clock, 4 %; 10 clocks, half; 200 clocks
    assert mean_access([Stage(time=1, miss=0.04), Stage(time=10, miss=0.5)], 200) == pytest.approx(5.4)
    # three levels, 60, 30 and 5 misses in 1000 (AMAT exercise, ahsjlin.github.io: input read, answer derived)
    stages = [Stage(time=1, miss=0.06), Stage(time=5, miss=0.5), Stage(time=10, miss=1 / 6)]
    assert mean_access(stages, 100) == pytest.approx(2.1)


def test_shares_outside_of_zero_to_one_are_refused() -> None:
    with pytest.raises(LeadoffError, match=r"misses 1\.2 of what it is asked"):
        mean_access([Stage(time=1, miss=1.2)], 10)
