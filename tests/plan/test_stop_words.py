"""When to stop: a state with a red warning is never counted as a reason to go on, and never denied."""

from __future__ import annotations

from leadoff.plan.now import Act, stop_text
from leadoff.record.quantity import Quantity, Source

HALF = Quantity(value=0.4, unit="1", source=Source.COMPUTED)


def _act(gain: float, *, red: bool) -> Act:
    return Act(
        kind="run",
        candidate=f"{gain}",
        workload="w1",
        moves=(),
        minutes=5.0,
        chance_hold=HALF,
        predicted=None,
        gain_pct=gain,
        worth_per_minute=gain * 0.4 / 5,
        why="",
        red=red,
    )


def test_a_gain_behind_a_red_warning_is_named_and_left_to_the_user() -> None:
    told = stop_text((_act(11.1, red=True), _act(0.1, red=False)), {"w1": 50.0})
    assert told.startswith("stop, unless you take the risk: ")
    assert "carries a red warning (up to +11.1 % if it holds)" in told


def test_nothing_that_gains_and_something_that_does() -> None:
    assert stop_text((_act(0.1, red=True), _act(0.1, red=False)), {"w1": 50.0}).startswith(
        "stop: no state within reach is expected more than"
    )
    assert stop_text((_act(11.1, red=True), _act(4.0, red=False)), {"w1": 50.0}).startswith("go on while")
