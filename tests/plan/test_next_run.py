"""Proposals against simple strategies on generated boards; the 50-board form is validation/next_run.py."""

from __future__ import annotations

import numpy as np
import pytest
from next_run import CAP, simulate

pytestmark = pytest.mark.slow

SEEDS = (950_000, 950_002, 950_003, 950_005)


def test_proposals_need_at_most_half_the_minutes_of_the_best_simple_strategy() -> None:
    mine = [simulate(s, "now", most=150) for s in SEEDS]
    names = ("one factor at a time", "fastest clock first", "clocks, then patterns")
    simple = {n: [simulate(s, n, most=150) for s in SEEDS] for n in names}
    best = min(float(np.mean([r[0] for r in rows])) for rows in simple.values())
    print("now", mine, simple)
    assert np.mean([r[0] for r in mine]) <= 0.5 * best
    assert all(r[0] < CAP for r in mine)
