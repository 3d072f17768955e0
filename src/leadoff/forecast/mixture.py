"""A mixture of normals: its distribution, quantiles and moments. No draws, so no seed."""

from __future__ import annotations

import numpy as np

from leadoff.forecast.normal import Vec, ndtr


class Mixture:
    """Weights, means and standard deviations of the parts, on any common scale; weights need not sum to 1."""

    def __init__(self, weights: Vec, means: Vec, sds: Vec) -> None:
        keep = weights > 1e-12 * weights.max()
        self.weights = weights[keep] / weights[keep].sum()
        self.means = means[keep]
        self.sds = np.maximum(sds[keep], 1e-12)

    @property
    def mean(self) -> float:
        return float(self.weights @ self.means)

    @property
    def sd(self) -> float:
        second = self.weights @ (self.sds**2 + (self.means - self.mean) ** 2)
        return float(np.sqrt(second))

    def cdf(self, x: float) -> float:
        """Probability of a value up to ``x``."""
        return float(self.weights @ ndtr((x - self.means) / self.sds))

    def quantile(self, p: float) -> float:
        """The value with probability ``p`` below it, by bisection: safe for any mixture, and repeatable."""
        lo = float((self.means - 9.0 * self.sds).min())
        hi = float((self.means + 9.0 * self.sds).max())
        for _ in range(80):
            mid = 0.5 * (lo + hi)
            if self.cdf(mid) < p:
                lo = mid
            else:
                hi = mid
        return 0.5 * (lo + hi)

    def quantiles(self, ps: tuple[float, ...]) -> tuple[float, ...]:
        """Several quantiles at once, by bisection on all of them together."""
        lo = np.full(len(ps), (self.means - 9.0 * self.sds).min())
        hi = np.full(len(ps), (self.means + 9.0 * self.sds).max())
        want = np.array(ps)
        for _ in range(60):
            mid = 0.5 * (lo + hi)
            below = ndtr((mid[:, None] - self.means) / self.sds) @ self.weights < want
            lo, hi = np.where(below, mid, lo), np.where(below, hi, mid)
        return tuple(float(v) for v in 0.5 * (lo + hi))
