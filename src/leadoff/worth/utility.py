"""What an uncertain sum is worth to someone: the certainty equivalent."""

from __future__ import annotations

import numpy as np

from leadoff.worth.draws import Vec


def certainty_equivalent(chance: Vec, outcome: Vec, tolerance: float | None) -> float:
    """The sure sum that is as good as a gamble on ``outcome`` with ``chance`` (adding up to 1).

    ``tolerance`` is the risk tolerance R of the exponential utility u(x) = 1 - exp(-x / R): the largest R for
    which someone just takes an even chance of winning R or losing R / 2. ``None`` is no aversion: the mean.
    Source: R. Clemen and T. Reilly, Making Hard Decisions, chapter on risk attitudes (from memory).

    Raises:
        ValueError: a tolerance that is not positive.
    """
    if tolerance is None:
        return float(np.sum(chance * outcome))
    if not tolerance > 0:
        raise ValueError(f"a risk tolerance of {tolerance} is no amount to put at stake")
    # Taken out of the sum so that no exponential runs over, however small the tolerance is.
    worst = float(outcome[chance > 0].min())
    total = float(np.sum(chance * np.exp(-np.maximum(outcome - worst, 0.0) / tolerance)))
    return worst - tolerance * float(np.log(total))
