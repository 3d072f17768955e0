"""Likelihood of printed scores: an interval under a normal, with a wider part for wrong declarations.

A printed score's interval is taken by its first two moments: a mode and a curvature are wanted here, and an interval
wider than the noise has no curvature inside, so that bands came out far too wide where scores print two digits.
Against a sampler with the exact interval (validation/sampler.py) this form is the nearer one. Intervals beyond
``WIDE`` are bounds, wider than what the model expects beforehand: they are taken exactly.
"""

from __future__ import annotations

import numpy as np

from leadoff.forecast.normal import Vec, log_interval, log_pdf

LEAST_WIDTH = 1e-5
"""Narrowest interval in log score: counters print more digits than any machine repeats."""


WIDE = 0.15
"""Width in log score beyond which an interval says where a value is not rather than where it is."""


def one_normal(mu: Vec, lo: Vec, hi: Vec, sd: Vec) -> tuple[Vec, Vec, Vec]:
    """Log probability of [lo, hi] under N(mu, sd), its derivative by mu, and minus its second derivative: by the
    interval's moments (within 1 % of a nat of the exact value up to a width of one deviation), exact beyond ``WIDE``.
    """
    width = np.maximum(hi - lo, LEAST_WIDTH)
    var = sd**2 + width**2 / 12.0
    off = 0.5 * (lo + hi) - mu
    value = np.log(width) - 0.5 * np.log(2.0 * np.pi * var) - 0.5 * off**2 / var
    d1, curve = off / var, 1.0 / var
    wide = width > WIDE
    if not wide.any():
        return value, d1, np.broadcast_to(curve, value.shape)
    exact = _exact(mu[..., wide], lo[..., wide], hi[..., wide], np.broadcast_to(sd, mu.shape)[..., wide])
    for out, told in zip(
        (value, d1, curve := np.broadcast_to(curve, value.shape).copy()), exact, strict=True
    ):
        out[..., wide] = told
    return value, d1, curve


def _exact(mu: Vec, lo: Vec, hi: Vec, sd: Vec) -> tuple[Vec, Vec, Vec]:
    """The same without the moments. The second derivative is never positive (the function is log-concave); it is kept
    above zero in rounding."""
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
