"""The certainty equivalent against textbook formulas."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.worth.utility import certainty_equivalent


@pytest.mark.reference
def test_the_textbook_gamble() -> None:
    """R. Clemen, T. Reilly, Making Hard Decisions, risk attitudes: winning 2000, 1000 or 500 with chances 0.4,
    0.4, 0.2 under u(x) = 1 - exp(-x / 900) has an expected utility of 0.710 and a certainty equivalent of about
    1114.71 (from memory; recomputed from the formula to the printed four places of the utilities)."""
    found = certainty_equivalent(np.array([0.4, 0.4, 0.2]), np.array([2000.0, 1000.0, 500.0]), 900.0)
    assert 1 - np.exp(-found / 900) == pytest.approx(0.710, abs=5e-4)
    assert found == pytest.approx(1114.71, abs=0.5)


@pytest.mark.reference
@pytest.mark.parametrize("tolerance", [40.0, 100.0, 1000.0])
def test_a_normal_gamble_loses_half_its_variance_over_the_tolerance(tolerance: float) -> None:
    """Source: R. Howard, Decision Analysis: CE = mean - variance / (2 R) is exact for a normal sum."""
    n = 40001
    normal = NormalDist(20.0, 12.0)
    outcomes = np.array([normal.inv_cdf((i + 0.5) / n) for i in range(n)])
    found = certainty_equivalent(np.full(n, 1 / n), outcomes, tolerance)
    assert found == pytest.approx(20.0 - 144.0 / (2 * tolerance), abs=0.01)


@pytest.mark.reference
def test_the_tolerance_is_the_stake_of_the_even_gamble() -> None:
    """Clemen and Reilly: at R the even chance of +R or -R/2 is worth about nothing (the rule of thumb)."""
    found = certainty_equivalent(np.array([0.5, 0.5]), np.array([100.0, -50.0]), 100.0)
    assert abs(found) < 1.0


@given(
    st.lists(st.tuples(st.floats(0.01, 1), st.floats(-500, 500)), min_size=1, max_size=8),
    st.floats(1.0, 1e4),
    st.floats(-300, 300),
)
def test_between_the_worst_and_the_mean_and_moves_with_a_sure_sum(
    gamble: list[tuple[float, float]], tolerance: float, extra: float
) -> None:
    chance = np.array([p for p, _ in gamble]) / sum(p for p, _ in gamble)
    outcome = np.array([x for _, x in gamble])
    found = certainty_equivalent(chance, outcome, tolerance)
    assert outcome.min() - 1e-6 <= found <= float(chance @ outcome) + 1e-6
    assert certainty_equivalent(chance, outcome + extra, tolerance) == pytest.approx(found + extra, abs=1e-6)
    assert certainty_equivalent(chance, outcome, 2 * tolerance) >= found - 1e-6


def test_no_exponential_runs_over() -> None:
    found = certainty_equivalent(np.array([0.5, 0.5]), np.array([1e6, -1e6]), 1.0)
    assert found == pytest.approx(-1e6, abs=1.0)


def test_a_tolerance_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="is no amount to put at stake"):
        certainty_equivalent(np.array([1.0]), np.array([1.0]), 0.0)
