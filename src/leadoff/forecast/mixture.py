"""A mixture of normals: its distribution, quantiles and moments. No draws, so no seed."""

from __future__ import annotations

import numpy as np

from leadoff.forecast.normal import Vec, log_pdf, ndtr, quantile


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

    def log_density(self, x: float) -> float:
        """Log of the density at ``x``."""
        parts = log_pdf((x - self.means) / self.sds) - np.log(self.sds) + np.log(self.weights)
        top = parts.max()
        return float(top + np.log(np.exp(parts - top).sum()))

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
        """Several quantiles at once: Newton steps kept inside a bracket, halving it where a step leaves it."""
        lo = np.full(len(ps), (self.means - 9.0 * self.sds).min())
        hi = np.full(len(ps), (self.means + 9.0 * self.sds).max())
        want = np.array(ps)
        x = np.clip(self.mean + self.sd * np.array([quantile(p) for p in ps]), lo, hi)
        for _ in range(60):
            z = (x[:, None] - self.means) / self.sds
            miss = ndtr(z) @ self.weights - want
            lo, hi = np.where(miss < 0.0, x, lo), np.where(miss < 0.0, hi, x)
            slope = np.exp(log_pdf(z)) @ (self.weights / self.sds)
            step = x - miss / np.maximum(slope, 1e-300)
            inside = (step >= lo) & (step <= hi)
            found = np.abs(miss) <= 1e-12
            if found.all():
                break
            x = np.where(found, x, np.where(inside, step, 0.5 * (lo + hi)))
        return tuple(float(v) for v in x)
