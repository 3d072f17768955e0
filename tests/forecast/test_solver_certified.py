"""The forecast's solver on NIST StRD problems, linear and nonlinear: certified values, sign and all.

Source: NIST/ITL Statistical Reference Datasets (www.itl.nist.gov/div898/strd), files Norris.dat, Longley.dat,
Misra1a.dat, Rat43.dat; data and certified values typed from memory: that they agree to the digits asked shows
that both were remembered rightly.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from leadoff.forecast.climb import Arr, Look, climb

pytestmark = pytest.mark.reference


def least_squares(
    model: Callable[[Arr], tuple[Arr, Arr]], y: Arr, start: list[float], scale: list[float] | None = None
) -> Arr:
    """The solver with Gauss-Newton curvature on minus half the sum of squares, parameters in units of ``scale``."""
    unit = np.array(scale or start)

    def parts(z: Arr) -> tuple[Arr, Arr]:
        f, jac = model(z[0] * unit)
        return y - f, jac * unit

    def value_at(z: Arr) -> Arr:
        with np.errstate(over="ignore", invalid="ignore"):
            r = parts(z)[0]
            total = -0.5 * float(r @ r)
        return np.array([total if np.isfinite(total) else -np.inf])

    def look(z: Arr) -> Look:
        r, jac = parts(z)
        # QR of the Jacobian: the normal equations would lose half the digits of Longley's problem.
        step = np.linalg.lstsq(jac, r, rcond=None)[0]
        return Look(value_at(z), step[None], np.array([float((jac @ step) @ r)]))

    z = climb(
        np.array(start)[None] / unit,
        look,
        value_at,
        steps=200,
        tolerance=1e-24,
        longest=1e9 if scale else 0.5,
    )
    return np.asarray(z[0] * unit)


def _numbers(text: str) -> Arr:
    return np.array(text.split(), dtype=float)


NORRIS = _numbers(
    "0.1 0.2 338.8 337.4 118.1 118.2 888.0 884.6 9.2 10.1 228.1 226.5 668.5 666.3 998.5 996.3 449.1 "
    "448.6 778.9 777.0 559.2 558.2 0.3 0.4 0.1 0.6 778.1 775.5 668.8 666.9 339.3 338.0 448.9 447.5 "
    "10.8 11.6 557.7 556.0 228.3 228.1 998.0 995.8 888.8 887.6 119.6 120.2 0.3 0.3 0.6 0.3 557.6 "
    "556.8 339.3 339.1 888.0 887.2 998.5 999.0 778.9 779.0 10.2 11.1 117.6 118.3 228.9 229.2 668.4 "
    "669.1 449.2 448.9 0.2 0.5 "
).reshape(-1, 2)

LONGLEY = _numbers(
    "60323 83.0 234289 2356 1590 107608 1947 61122 88.5 259426 2325 1456 108632 1948 60171 88.2 "
    "258054 3682 1616 109773 1949 61187 89.5 284599 3351 1650 110929 1950 63221 96.2 328975 2099 3099 "
    "112075 1951 63639 98.1 346999 1932 3594 113270 1952 64989 99.0 365385 1870 3547 115094 1953 "
    "63761 100.0 363112 3578 3350 116219 1954 66019 101.2 397469 2904 3048 117388 1955 67857 104.6 "
    "419180 2822 2857 118734 1956 68169 108.4 442769 2936 2798 120445 1957 66513 110.8 444546 4681 "
    "2637 121950 1958 68655 112.6 482704 3813 2552 123366 1959 69564 114.2 502601 3931 2514 125368 "
    "1960 69331 115.7 518173 4806 2572 127852 1961 70551 116.9 554894 4007 2827 130081 1962 "
).reshape(-1, 7)

MISRA_X = _numbers("77.6 114.9 141.1 190.8 239.9 289.0 332.8 378.4 434.8 477.3 536.8 593.1 689.1 760.0 ")
MISRA_Y = _numbers("10.07 14.73 17.94 23.93 29.61 35.18 40.02 44.82 50.76 55.05 61.01 66.40 75.47 81.78 ")
RAT43_Y = _numbers(
    "16.08 33.83 65.80 97.20 191.55 326.20 386.87 520.53 590.03 651.92 724.93 699.56 689.96 637.56 717.41 "
)


def test_norris_with_its_negative_intercept() -> None:
    x = np.stack([np.ones(len(NORRIS)), NORRIS[:, 1]], axis=1)
    got = least_squares(lambda b: (x @ b, x), NORRIS[:, 0], [0.0, 0.0], [1.0, 1.0])
    assert got == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-9)


def test_longley_nearly_collinear() -> None:
    x = np.concatenate([np.ones((16, 1)), LONGLEY[:, 1:]], axis=1)
    scale = [1e6, 10.0, 0.01, 1.0, 1.0, 0.1, 1e3]
    got = least_squares(lambda b: (x @ b, x), LONGLEY[:, 0], [0.0] * 7, scale)
    want = [
        -3482258.63459582,
        15.0618722713733,
        -0.358191792925910e-01,
        -2.02022980381683,
        -1.03322686717359,
        -0.511041056535807e-01,
        1829.15146461355,
    ]
    assert got == pytest.approx(want, rel=1e-7)


@pytest.mark.parametrize("start", [[500.0, 0.0001], [250.0, 0.0005]])
def test_misra1a(start: list[float]) -> None:
    def model(b: Arr) -> tuple[Arr, Arr]:
        e = np.exp(-b[1] * MISRA_X)
        return b[0] * (1.0 - e), np.stack([1.0 - e, b[0] * MISRA_X * e], axis=1)

    got = least_squares(model, MISRA_Y, start)
    assert got == pytest.approx([2.3894212918e02, 5.5015643181e-04], rel=1e-8)


@pytest.mark.parametrize("start", [[100.0, 10.0, 1.0, 1.0], [700.0, 5.0, 0.75, 1.3]])
def test_rat43_of_higher_difficulty(start: list[float]) -> None:
    x = np.arange(1.0, 16.0)

    def model(b: Arr) -> tuple[Arr, Arr]:
        e = np.exp(b[1] - b[2] * x)
        u = 1.0 + e
        f = b[0] * u ** (-1.0 / b[3])
        slope = -f / b[3] / u * e
        return f, np.stack([f / b[0], slope, -x * slope, f * np.log(u) / b[3] ** 2], axis=1)

    got = least_squares(model, RAT43_Y, start)
    assert got == pytest.approx(
        [6.9964151270e02, 5.2771253025e00, 7.5962938329e-01, 1.2792483859e00], rel=1e-7
    )
