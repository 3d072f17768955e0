"""The normal tails against the library's error function and against tabulated quantiles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special, stats

from leadoff.forecast.mixture import Mixture
from leadoff.forecast.normal import log_interval, log_ndtr, ndtr, quantile
from leadoff.forecast.student import power, runs_each, t_cdf, t_quantile


def test_log_tail_agrees_with_scipy_from_the_centre_to_forty_sd() -> None:
    x = np.linspace(-40.0, 8.0, 4801)
    assert np.abs(log_ndtr(x) - special.log_ndtr(x)).max() < 2e-12 * 800


def test_central_part_agrees_with_erfc() -> None:
    for x in (-5.0, -1.0, -0.1, 0.0, 0.3, 2.0):
        assert ndtr(np.array(x)) == pytest.approx(0.5 * math.erfc(-x / math.sqrt(2.0)), abs=2e-15)


@pytest.mark.reference
def test_quantiles_of_the_tables() -> None:
    # Abramowitz and Stegun 1964, table 26.5: normal quantiles to five places.
    for p, x in ((0.975, 1.95996), (0.95, 1.64485), (0.75, 0.67449), (0.995, 2.57583)):
        assert quantile(p) == pytest.approx(x, abs=6e-6)
    assert quantile(1e-12) == pytest.approx(stats.norm.ppf(1e-12), rel=1e-10)


def test_interval_far_in_a_tail_keeps_its_digits() -> None:
    far = log_interval(np.array([30.0]), np.array([30.1]))
    assert far[0] == pytest.approx(
        stats.norm.logsf(30.0) + math.log(-math.expm1(-(30.1**2 - 900) / 2)), abs=1e-2
    )
    assert log_interval(np.array([-30.1]), np.array([-30.0]))[0] == pytest.approx(far[0], abs=1e-10)


@pytest.mark.reference
def test_student_quantiles_of_the_tables() -> None:
    # Abramowitz and Stegun 1964, table 26.10.
    for df, x in ((1, 12.706), (4, 2.776), (8, 2.306), (30, 2.042)):
        assert t_quantile(0.975, df) == pytest.approx(x, abs=6e-4)
    assert t_cdf(1.3, 5.0) == pytest.approx(stats.t.cdf(1.3, 5.0), abs=1e-12)


def test_power_agrees_with_the_noncentral_t() -> None:
    n, d, sd = 19, 0.2, 0.2168
    crit = stats.t.ppf(0.975, 2 * n - 2)
    shift = d / sd * math.sqrt(n / 2)
    want = stats.nct.sf(crit, 2 * n - 2, shift) + stats.nct.cdf(-crit, 2 * n - 2, shift)
    assert power(d, sd, n) == pytest.approx(want, abs=2e-4)


@pytest.mark.reference
def test_runs_for_half_a_standard_deviation() -> None:
    # Cohen, Statistical Power Analysis, 2nd ed. 1988, table 2.4.1: d = .5, two-sided .05, power .80: n = 64.
    assert runs_each(0.5, 1.0) == 64


def test_mixture_quantiles_invert_its_distribution() -> None:
    mix = Mixture(np.array([0.2, 0.8]), np.array([-1.0, 2.0]), np.array([0.3, 1.0]))
    for p in (0.01, 0.2, 0.5, 0.95):
        assert mix.cdf(mix.quantile(p)) == pytest.approx(p, abs=1e-10)
    assert mix.quantiles((0.2, 0.5))[1] == pytest.approx(mix.quantile(0.5), abs=1e-9)
