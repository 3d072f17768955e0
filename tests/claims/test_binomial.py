"""Exact limits against published figures and SciPy."""

from __future__ import annotations

import pytest
from scipy import stats

from leadoff.claims import binomial


@pytest.mark.reference
def test_limits_of_the_scenario() -> None:
    """Shared scenario C, by Clopper and Pearson 1934: 0 of 60 and 3 of 60."""
    assert 100 * binomial.upper(0, 60) == pytest.approx(4.87, abs=0.01)
    assert [round(100 * x, 1) for x in binomial.two_sided(3, 60)] == [1.0, 13.9]
    assert binomial.said(3, 60) == "3 bad of 60: failure rate 5.0 % [1.0, 13.9] (95 %)"


@pytest.mark.reference
def test_handbook_example_of_four_of_twenty() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.2: 4 of 20 at 90 %. The method was read there, the
    limits 0.071354 and 0.401029 are from memory; they come from a spreadsheet's search, good to its last digit."""
    assert binomial.two_sided(4, 20, 0.90) == pytest.approx((0.071354, 0.401029), abs=1.5e-6)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("k", "lo_pct", "hi_pct"), [(0, 0.00, 30.85), (1, 0.25, 44.50), (3, 6.67, 65.25), (5, 18.71, 81.29)]
)
def test_published_table_of_ten(k: int, lo_pct: float, hi_pct: float) -> None:
    """Geigy Scientific Tables, exact 95 % confidence limits of a binomial proportion, n = 10 (from memory)."""
    lo, hi = binomial.two_sided(k, 10)
    assert (100 * lo, 100 * hi) == pytest.approx((lo_pct, hi_pct), abs=0.006)


@pytest.mark.reference
@pytest.mark.parametrize("n", [1, 2, 7, 60, 61, 500])
def test_as_scipy_has_it(n: int) -> None:
    for k in {0, 1, n // 3, n // 2, n - 1, n}:
        theirs = stats.binomtest(k, n).proportion_ci(0.95, "exact")
        assert binomial.two_sided(k, n) == pytest.approx((theirs.low, theirs.high), abs=1e-9)
        one = stats.binomtest(k, n, alternative="less").proportion_ci(0.95, "exact")
        assert binomial.upper(k, n) == pytest.approx(one.high, abs=1e-9)


@pytest.mark.parametrize(("k", "n"), [(-1, 5), (6, 5), (0, 0)])
def test_what_is_no_count(k: int, n: int) -> None:
    with pytest.raises(ValueError, match="no count of trials"):
        binomial.upper(k, n)
