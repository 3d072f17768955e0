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


def middle(of: list[Outcomes]) -> float:
    """Median minutes; a board that was not finished counts as ``CAP``."""
    return float(np.median([o.minutes for o in of]))


def test_a_list_takes_fewer_minutes_than_simple_strategies_on_most_boards() -> None:
    """One of the four ends short of its best state, which is 1.5 % better than the forecast says: its mean over four
    boards is therefore no better than that of the best simple strategy (docs/validation.md has the many boards)."""
    listed = [simulate(s, "list for the evening", most=80) for s in SEEDS]
    single = [simulate(s, "best single step", most=80) for s in SEEDS]
    simple = {n: [simulate(s, n, most=80) for s in SEEDS] for n in SIMPLE}
    print({"list": listed, "single": single, **simple})
    assert sum(o.done for o in listed) >= 3
    assert all(SOAK <= o.minutes < CAP for o in listed if o.done)
    assert all(o.soaks >= 1 for o in listed)
    assert middle(listed) <= 0.7 * min(middle(rows) for rows in simple.values())
    # No worse than the best step each time, give or take one changeover with its run.
    assert middle(listed) <= middle(single) + 15.0
