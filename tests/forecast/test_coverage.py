"""Do the bands hold, on generated books richer than the model; the 250-book form is validation/forecast_books.py.

The limits of these tests leave room for their own error: 40 books of two held-out states have about .035.
"""

from __future__ import annotations

import numpy as np
import pytest
from forecast_books import run_book, summary

pytestmark = pytest.mark.slow


def test_one_board_and_eight_runs() -> None:
    results = [run_book(700_000 + k, 1, 8) for k in range(40)]
    print(summary(results, "model"))
    print(summary(results, "clocks"))
    n = sum(len(r.scores["model"].u) for r in results)
    assert n >= 70
    covered = np.average([r.scores["model"].covered(0.9) for r in results if r.scores["model"].u])
    half = np.average([r.scores["model"].covered(0.5) for r in results if r.scores["model"].u])
    assert 0.80 <= covered <= 0.99
    assert 0.36 <= half <= 0.74
    width = np.median([w for r in results for w in r.scores["model"].w90])
    clocks = np.median([w for r in results for w in r.scores["clocks"].w90])
    assert width < 0.08
    assert width < clocks


def test_five_boards_and_five_runs_with_other_physics() -> None:
    """Memory clocks that drift with the bus clock, heavier tails: at least 82 % in this small form."""
    results = [run_book(710_000 + k, 5, 5, physics="other", methods=("model",)) for k in range(6)]
    print(summary(results, "model"))
    assert np.average([r.scores["model"].covered(0.9) for r in results]) >= 0.78
