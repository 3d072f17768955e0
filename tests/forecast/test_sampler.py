"""Medians and limits of the forecast against a general sampler on the same posterior, eight runs, four books.

The sampler is a weak judge: its chains start from the curvature at the mode and wander slowly along the curved ridge
that few runs leave, some tens of effective draws in this short form. It would show a wrong mixture, a wrong quantile
or a mode that is none; it does not prove the tails.
"""

from __future__ import annotations

import numpy as np
import pytest
from sampler import CLASSES, compare

pytestmark = pytest.mark.slow


def test_medians_and_limits_lie_near_a_general_samplers() -> None:
    found, effective = [], []
    for k in range(4):
        distances, drawn = compare(60_000 + k, CLASSES[k], steps=40, chains=40)
        found += distances
        effective.append(drawn.effective)
    centre, limit = np.array([d.centre for d in found]), np.array([d.limit for d in found])
    at = (0.5, 0.9)
    print(f"effective {effective}, centre {np.quantile(centre, at)}, limits {np.quantile(limit, at)}")
    assert len(found) >= 12
    assert min(effective) >= 15
    assert np.median(centre) <= 0.15
    assert np.median(limit) <= 0.3
    assert np.quantile(centre, 0.9) <= 0.4
    assert np.quantile(limit, 0.9) <= 0.7
