"""Sealed forecasts scored: on the invented book, and with the user's own guess through the command line."""

from __future__ import annotations

import pytest

from cli_bench import Bench, run
from invented_boards import MILL
from leadoff.claims.scored import scored_forecasts
from leadoff.claims.values import Ledger


def test_the_invented_book(ledger: Ledger) -> None:
    """Six were sealed before their run and five held; one came after its run, one has not been tried."""
    found = scored_forecasts(ledger)
    assert found.hit90 == (5, 6)
    assert (found.late, found.untried) == (1, 1)
    missed = [x for x in found.scored if not x.in90]
    assert [x.number for x in missed] == ["forecast-3"]
    # Interval score by hand: ln(30.1/29.1) + 20 ln(29.1/28.633), in percent.
    assert missed[0].interval == pytest.approx(3.379 + 20 * 1.616, abs=0.02)


def test_the_own_guess_is_kept_and_compared(bench: Bench) -> None:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    bench("move", "mill-486", "bus 40")
    bench("forecast", "mill-486", "--guess", "w1 9.5")
    bench("log", "mill-486", "w1 6.80")
    data = bench("proof", "--forecasts").data
    one = data["scored"][0]
    assert (one["score"], one["guess"]) == (6.8, 9.5)
    assert data["closer"] == [1, 0, 0]
    assert [c["said"] for c in data["calibration"]] == [0.5, 0.9]
    assert "closer: forecast 1, you 0" in run("proof", "--forecasts").out


def test_a_result_counts_once_for_the_last_forecast_before_it(bench: Bench) -> None:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    bench("forecast", "mill-486", "--want", "bus 40", "--guess", "w1 9.5")
    bench("forecast", "mill-486", "--want", "bus 40")
    bench("move", "mill-486", "bus 40")
    bench("log", "mill-486", "w1 6.80")
    data = bench("proof", "--forecasts").data
    assert [(x["number"], x["guess"]) for x in data["scored"]] == [("f2", 9.5)]
    assert (data["replaced"], data["hit90"][1]) == (1, 1)
    assert "1 sealed anew before the run" in run("proof", "--forecasts").out


def test_a_forecast_of_a_state_that_has_run_is_no_forecast_when_it_runs_again(bench: Bench) -> None:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    bench("forecast", "mill-486")
    bench("log", "mill-486", "w1 5.91")
    data = bench("proof", "--forecasts").data
    assert (data["scored"], data["late"]) == ([], 1)
