"""Whole evenings on generated boards; the 50-board form with its figures is validation/evenings.py."""

from __future__ import annotations

import numpy as np
import pytest
from evenings import CAP, SOAK, Outcomes, simulate

pytestmark = pytest.mark.slow

SEEDS = (960_000, 960_001, 960_002, 960_004)
SIMPLE = (
    "one factor at a time",
    "clocks, then patterns",
)  # fastest clock first is far behind, and slow to simulate


def minutes(of: list[Outcomes]) -> float:
    """Mean minutes; a board that was not finished counts as ``CAP``."""
    return float(np.mean([o.minutes for o in of]))


def test_a_list_reaches_the_best_stable_state_in_fewer_minutes_than_simple_strategies() -> None:
    listed = [simulate(s, "list for the evening", most=80) for s in SEEDS]
    single = [simulate(s, "best single step", most=80) for s in SEEDS]
    simple = {n: [simulate(s, n, most=80) for s in SEEDS] for n in SIMPLE}
    print({"list": listed, "single": single, **simple})
    assert all(o.done and SOAK <= o.minutes < CAP and o.soaks >= 1 for o in listed)
    assert minutes(listed) <= 0.6 * min(minutes(rows) for rows in simple.values())
    # No worse than the best step each time, give or take one changeover with its run.
    assert minutes(listed) <= minutes(single) + 15.0
