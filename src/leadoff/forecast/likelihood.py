"""Likelihood of printed scores: an interval under a normal, with a wider part for wrong declarations."""

from __future__ import annotations

import numpy as np

from leadoff.forecast.normal import Vec, log_interval, log_pdf

LEAST_WIDTH = 1e-5
"""Narrowest interval in log score: counters print more digits than any machine repeats."""


def one_normal(mu: Vec, lo: Vec, hi: Vec, sd: Vec) -> tuple[Vec, Vec, Vec]:
    """Log probability of [lo, hi] under N(mu, sd), its derivative by mu, and minus its second derivative.

    The second derivative is never positive (the function is log-concave); it is kept above zero in rounding.
    """
    hi = np.maximum(hi, lo + LEAST_WIDTH)
    a, b = (lo - mu) / sd, (hi - mu) / sd
    value = log_interval(a, b)
    pa, pb = np.exp(log_pdf(a) - value), np.exp(log_pdf(b) - value)
    d1 = -(pb - pa) / sd
    curve = (b * pb - a * pa) / sd**2 + d1**2
    return value, d1, np.maximum(curve, 1e-8 / sd**2)


def with_outliers(
    mu: Vec, lo: Vec, hi: Vec, sd: Vec, share: float, extra_sd: float
) -> tuple[Vec, Vec, Vec, Vec]:
    """Two-part mixture: value, first derivative, curvature weighted by responsibility, responsibility of the
    wider part. With ``share`` 0 it is the plain interval."""
    v1, g1, c1 = one_normal(mu, lo, hi, sd)
    if share <= 0.0:
        return v1, g1, c1, np.zeros_like(v1)
    v2, g2, c2 = one_normal(mu, lo, hi, np.sqrt(sd**2 + extra_sd**2))
    a, b = v1 + np.log1p(-share), v2 + np.log(share)
    value = np.logaddexp(a, b)
    wide = np.exp(b - value)
    return value, (1.0 - wide) * g1 + wide * g2, (1.0 - wide) * c1 + wide * c2, wide
