"""An evening's list: what is worth a place, the order, the minutes, and what a result makes idle."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from leadoff.plan.route import Option, Route, route

DRAWS = 200


def option(name: str, gain: float, chance: float = 0.9, minutes: float = 4.0) -> Option:
    return Option(candidate=name, gain_pct=gain, chance=chance, steady=chance, minutes=minutes)


def alone(*chances: float) -> NDArray[np.bool_]:
    """States that hold or not for reasons of their own."""
    rng = np.random.default_rng(1)
    return np.array([rng.permutation(DRAWS) < p * DRAWS for p in chances])


def flat(a: str, b: str) -> float:
    return 0.0 if a == b else 5.0


def made(
    options: list[Option],
    holds: NDArray[np.bool_],
    between: object = flat,
    gains: NDArray[np.float64] | None = None,
    **more: float,
) -> Route:
    """A list; gains are told exactly unless given by draw."""
    given: dict[str, float] = {"minutes": 120.0, "failure": 4.0, **more}
    gains = np.repeat([[o.gain_pct] for o in options], holds.shape[1], axis=1) if gains is None else gains
    return route(options, holds, gains, between, **given)  # type: ignore[arg-type]


def names(of: Route) -> list[str]:
    return [s.candidate for s in of.stages]


def test_a_state_that_stands_and_falls_with_a_better_one_gets_no_place() -> None:
    """Two states behind one clock: the lesser can add nothing, one with limits of its own can."""
    both = alone(0.6, 0.6)
    one, other = both[:1], both[1:]
    options = [option("best", 10.0, 0.6), option("twin", 8.0, 0.6), option("apart", 8.0, 0.6)]
    holds = np.concatenate([one, one, other])
    assert set(names(made(options, holds))) == {"best", "apart"}


def test_minutes_are_kept_and_what_did_not_fit_is_counted() -> None:
    options = [option(n, g, 0.5) for n, g in zip("abcd", (9.0, 8.0, 7.0, 6.0), strict=True)]
    short = made(options, alone(0.5, 0.5, 0.5, 0.5), minutes=24.0)
    assert short.minutes <= 24.0
    assert 1 <= len(short.stages) < 4
    assert short.left_out > 0
    long = made(options, alone(0.5, 0.5, 0.5, 0.5), minutes=240.0)
    assert len(long.stages) > len(short.stages)
    assert long.gain_pct > short.gain_pct


def test_states_with_the_plug_pulled_come_one_after_the_other() -> None:
    """Jumpers cost ten minutes to and fro, set-up entries two: a list that goes to and fro wastes its evening."""

    def between(a: str, b: str) -> float:
        side = {"": "x"}
        return (10.0 if side.get(a, a[:1]) != side.get(b, b[:1]) else 0.0) + (2.0 if a != b else 0.0)

    options = [option("x1", 6.0, 0.5), option("y1", 7.0, 0.5), option("x2", 5.5, 0.5), option("y2", 6.5, 0.5)]
    found = names(made(options, alone(0.5, 0.5, 0.5, 0.5), between))
    assert len(found) == 4
    crossings = sum(a[0] != b[0] for a, b in itertools.pairwise(["x", *found]))
    assert crossings == 1


def test_nothing_below_the_stop_rule_is_listed() -> None:
    assert made([option("crumb", 0.5, 0.9, 60.0)], alone(0.9)).stages == ()
    assert names(made([option("crumb", 0.5, 0.9, 60.0)], alone(0.9), least=0.001)) == ["crumb"]


def test_a_failure_names_the_later_runs_it_makes_idle() -> None:
    """The tighter state holds only where the looser one does: it comes second, and not after a failure."""
    loose, extra = alone(0.5, 0.4)
    options = [option("loose", 9.0, 0.5), option("tight", 14.0, 0.2)]
    first, second = made(options, np.array([loose, loose & extra])).stages
    assert (first.candidate, first.not_if_fails, first.not_if_holds) == ("loose", ("tight",), ())
    assert (second.candidate, second.not_if_fails) == ("tight", ())


def test_a_success_names_the_later_runs_that_could_not_gain_more() -> None:
    options = [option("far", 12.0, 0.5), option("near", 4.0, 0.9)]
    first, second = made(options, alone(0.5, 0.9)).stages
    assert (first.candidate, first.not_if_holds, first.not_if_fails) == ("far", ("near",), ())
    assert (second.candidate, second.not_if_holds) == ("near", ())


def test_two_unsure_settings_each_get_a_place_though_neither_is_expected_to_gain() -> None:
    """Half a percent below the record, give or take two: each may bring something, and not the same."""
    options = [option("a", -0.5, 0.95), option("b", -0.5, 0.95), option("sure", -0.5, 0.95)]
    rng = np.random.default_rng(2)
    gains = np.array([rng.normal(-0.5, sd, DRAWS) for sd in (2.0, 2.0, 0.1)])
    assert set(names(made(options, alone(0.95, 0.95, 0.95), gains=gains))) == {"a", "b"}


@settings(deadline=None, max_examples=40)
@given(
    states=st.lists(
        st.tuples(st.floats(0.1, 30.0), st.floats(0.05, 0.97), st.floats(2.0, 15.0)), min_size=1, max_size=7
    ),
    minutes=st.floats(10.0, 200.0),
)
def test_stages_add_up_and_never_run_past_the_minutes(
    states: list[tuple[float, float, float]], minutes: float
) -> None:
    options = [option(f"s{n}", g, p, t) for n, (g, p, t) in enumerate(states)]
    found = made(options, alone(*(p for _, p, _ in states)), minutes=minutes)
    assert found.minutes <= minutes + 1e-9
    assert sum(s.adds_pct for s in found.stages) == pytest.approx(found.gain_pct)
    for a, b in itertools.pairwise(found.stages):
        assert b.at == pytest.approx(a.until)
    assert len(set(names(found))) == len(found.stages)
