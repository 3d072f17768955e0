"""Medians and limits of the forecast against a general sampler on the same posterior: five states and more, four
books, at least 4,000 effective draws each. The sampler's own weights must say that it worked."""

from __future__ import annotations

import numpy as np
import pytest
from sampler import CLASSES, compare, k_hat

pytestmark = pytest.mark.slow


def test_medians_and_limits_lie_near_a_general_samplers() -> None:
    found = []
    for k in range(4):
        distances, drawn, states = compare(60_000 + k, CLASSES[k])
        found += distances
        print(f"{CLASSES[k]} effective {drawn.effective:.0f} of {len(drawn.g)}, k-hat {drawn.k_hat:.2f}")
        assert states >= 5
        assert drawn.effective >= 4_000
        assert drawn.k_hat < 0.7
        assert drawn.unsolved < 0.005
    centre, limit = np.array([d.centre for d in found]), np.array([d.limit for d in found])
    at = (0.5, 0.9)
    print(f"centre {np.quantile(centre, at)}, limits {np.quantile(limit, at)}")
    assert len(found) >= 12
    assert np.median(centre) <= 0.15
    assert np.median(limit) <= 0.3
    assert np.quantile(centre, 0.9) <= 0.4
    assert np.quantile(limit, 0.9) <= 0.7


@pytest.mark.parametrize("shape", [0.2, 0.5, 0.9])
def test_the_tails_shape_is_found_where_it_is_known(shape: float) -> None:
    """Weights drawn from a generalised Pareto distribution of known shape."""
    draws = np.random.default_rng(5).random(40_000)
    assert k_hat(np.expm1(-shape * np.log(draws)) / shape + 1.0) == pytest.approx(shape, abs=0.12)
