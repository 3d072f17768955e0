"""How a score is carried to another rig: exact where the card costs a time, exact where it costs a share."""

from __future__ import annotations

import math

import numpy as np
import pytest

from leadoff.claims.carried import carry, log_times

NOISE = 1e-6


def under(cost: str, ms: float) -> float:
    """Milliseconds of a frame with the other card: 5 ms less, or 15 % less."""
    return ms - 5.0 if cost == "time" else ms * 0.85


@pytest.mark.parametrize(("cost", "power"), [("time", 1.0), ("share", 0.0)])
def test_bridges_tell_a_time_from_a_share_and_the_score_is_carried_by_it(cost: str, power: float) -> None:
    frames = (20.0, 30.0, 45.0, 60.0)
    times = np.log([[ms, under(cost, ms)] for ms in frames])
    made = carry(("old", "new"), [("old", "new")] * 4, times, np.full(4, NOISE))
    assert made.weight[made.power == power].sum() > 0.9
    for ms in (15.0, 25.0, 90.0):
        log, sd, transfer = made.one("old", "new", math.log(ms))
        assert ms * math.exp(log) == pytest.approx(under(cost, ms), rel=0.01)
        back, _, _ = made.one("new", "old", math.log(under(cost, ms)))
        assert under(cost, ms) * math.exp(back) == pytest.approx(ms, rel=0.01)
        assert math.hypot(sd, transfer) < 0.05


def test_one_bridge_is_exact_at_its_own_score_and_unsure_elsewhere() -> None:
    """From 57.4 to 40.1 ms: a share of .301, or 17.3 ms. At 100 ms both stay possible."""
    times = np.log([[57.36, 40.11]])
    made = carry(("a", "b"), [("a", "b")], times, np.full(1, NOISE))
    log, _, _ = made.one("a", "b", math.log(57.36))
    assert 57.36 * math.exp(log) == pytest.approx(40.11, rel=1e-6)
    log, sd, transfer = made.one("a", "b", math.log(100.0))
    share, fixed = 100.0 * 40.11 / 57.36, 100.0 - 17.25
    assert share < 100.0 * math.exp(log) < fixed
    half = 1.96 * math.hypot(sd, transfer)
    assert log - half < math.log(share / 100.0)
    assert log + half > math.log(fixed / 100.0)


def test_more_than_all_of_a_time_is_never_taken_away() -> None:
    made = carry(("a", "b"), [("a", "b")], np.log([[60.0, 30.0]]), np.full(1, NOISE))
    log, sd, _ = made.one("a", "b", math.log(10.0))
    assert math.isfinite(log)
    assert sd > 0.3


def test_a_mean_over_states_is_the_mean_of_each() -> None:
    rng = np.random.default_rng(3)
    times = np.log([[ms, ms - 4.0] for ms in (18.0, 33.0, 52.0)])
    made = carry(("a", "b"), [("a", "b")] * 3, times, np.full(3, NOISE))
    states = np.log(rng.uniform(15.0, 70.0, 40))
    log, _, _ = made.at_large("a", "b", {"a": states, "b": np.empty(0)})
    assert log == pytest.approx(np.mean([made.one("a", "b", t)[0] for t in states]), abs=1e-3)
    drawn = made.drawn("b", 4000, rng).log_time("a", np.full(4000, states[0]), rng)
    assert drawn.mean() == pytest.approx(states[0] + made.one("a", "b", states[0])[0], abs=0.002)


def test_a_rate_is_one_over_a_time() -> None:
    assert log_times((50.0,), 1.0)[0] == pytest.approx(-log_times((50.0,), -1.0)[0])
