"""What now: order, what is left out, what is only marked."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path

import msgspec
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "forecast"))

from makers import FRAMES, seen, setup, sheet

from leadoff.forecast.facts import Setup
from leadoff.forecast.gap import Gap
from leadoff.forecast.hold import belief
from leadoff.machine.partfacts import Processor
from leadoff.plan.now import Candidate, now
from leadoff.plan.records import record_states
from leadoff.plan.worth import expected_gain, plan_values, steady_attempts
from leadoff.record.runs import Outcome

PART = Processor(id="x5-133", core="x5", rated_mhz=Fraction(400, 3), v_typ=3.45)
BOARD = sheet("quay-1", "486vlb", buses=("vlb", "isa"))


def at(bus: str, ratio: str) -> Setup:
    return setup({"bus_mhz": bus, "ratio": ratio, "cpu": "x5-133"}, BOARD, PART)


def option(name: str, state: Setup, minutes: float = 5.0, **more: object) -> Candidate:
    return Candidate(id=name, setup=state, minutes=minutes, **more)  # type: ignore[arg-type]


RUNS = (seen(at("100/3", "3"), "20.0", number="1"),)


def test_worth_is_gain_times_chance_per_minute() -> None:
    plan = now([option("a", at("100/3", "4")), option("b", at("100/3", "4"), 60.0)], RUNS, (FRAMES,))
    first, second = plan.acts
    assert (first.candidate, second.candidate) == ("a", "b")
    assert first.chance_hold.value is not None
    spent = first.minutes + (1.0 - first.chance_hold.value) * 4.0
    assert first.hoped_pct == pytest.approx(first.gain_pct, rel=0.05)
    steady = belief(at("100/3", "4"), RUNS).chance(at("100/3", "4"), steady_attempts())
    assert steady is not None
    assert steady < first.chance_hold.value
    assert first.worth_per_minute == pytest.approx(first.hoped_pct * steady / spent)
    assert first.minutes == pytest.approx(5.0 + 4.0)
    assert plan.record == {"w2": pytest.approx(20.0, rel=1e-5)}


@pytest.mark.parametrize(("gain", "sd"), [(3.0, 0.5), (-0.7, 1.7), (-2.0, 1.3), (0.2, 0.1), (0.0, 4.0)])
def test_what_is_hoped_for_is_the_mean_of_the_gains_that_a_run_would_show(gain: float, sd: float) -> None:
    seen = plan_values()["seen_gain_pct"]
    drawn = np.random.default_rng(4).normal(gain, sd, 400_000)
    mean = np.where(drawn > seen, drawn, 0.0).mean()
    one = Gap(weight=(1.0,), shift=(0.0,), sd=(0.01 * sd,))
    assert expected_gain(gain, one) == pytest.approx(mean, abs=0.012)


def test_a_setting_that_nobody_knows_is_one_value_or_the_other_and_nothing_between() -> None:
    """Half of the odds: this is the state as it stands; else it is five percent slower. Nothing to hope for."""
    two = Gap(weight=(0.5, 0.5), shift=(-0.025, 0.025), sd=(0.0005, 0.0005))
    assert two.whole_sd == pytest.approx(0.025, rel=0.01)
    assert expected_gain(-2.5, two) < 0.01
    assert expected_gain(2.5, two) == pytest.approx(2.5, abs=0.05)


def test_a_setting_never_tried_is_less_sure_than_one_that_was() -> None:
    """The write policy of a cache that no run touched may bring more than a wait state that was run both ways."""

    def made(waits: str, policy: str) -> Setup:
        cache = {"cpu": "x5-133", "l2_kb": "256", "l2_ns": "15", "l2_read": "3-2-2-2", "l2_policy": policy}
        here = {"bus_mhz": "100/3", "ratio": "3", "l2_write_ws": waits, **cache}
        return setup(here, BOARD, PART)  # type: ignore[arg-type]

    runs = tuple(
        seen(made(w, "wb"), score, number=n)
        for w, score, n in (("1", "20.0 20.1", "1"), ("0", "20.9 21.0", "2"))
    )
    found = [option("waits", made("1", "wb")), option("policy", made("0", "wt"))]
    plan = now(found, runs, (FRAMES,), limit=9)
    told = {a.candidate: a for a in plan.acts if a.kind == "run"}
    assert "policy" in told
    assert told["policy"].gain_sd_pct > 1.0
    assert "waits" not in told or told["waits"].gain_sd_pct < 0.5 * told["policy"].gain_sd_pct


def test_refused_states_never_appear() -> None:
    plan = now([option("a", at("100/3", "4"), refused=True), option("b", at("40", "3"))], RUNS, (FRAMES,))
    assert [a.candidate for a in plan.acts] == ["b"]
    assert now([option("a", at("100/3", "4"), refused=True)], RUNS, (FRAMES,)).acts == ()


def test_a_state_beyond_a_known_ceiling_is_not_first() -> None:
    """Common practice, no source: a state above a specimen's known ceiling is not proposed first."""
    bad = at("40", "4")
    runs = (
        *RUNS,
        *(seen(bad, "", number=str(n), outcome=Outcome.NO_START) for n in (2, 3)),
        seen(at("40", "3"), "23.0", number="4"),
    )
    plan = now(
        [option("over", at("50", "4"), 1.0), option("mild", at("100/3", "7/2"), 30.0)], runs, (FRAMES,)
    )
    assert plan.acts[0].candidate == "mild"
    assert plan.acts[1].beyond_ceiling
    assert plan.acts[1].cautions


def test_after_a_failure_the_same_clock_with_a_looser_pattern_comes_next() -> None:
    """The clock and the pattern went up together; giving the pattern back is the cheapest state that parts them."""
    cache = {"cpu": "x5-133", "l2_kb": "256", "l2_ns": "15", "l2_read": "3-2-2-2"}

    def made(bus: str, waits: str) -> Setup:
        return setup({"bus_mhz": bus, "ratio": "3", "l2_write_ws": waits, **cache}, BOARD, PART)

    runs = (
        seen(made("100/3", "1"), "20.0", number="1"),
        seen(made("40", "0"), "", number="2", outcome=Outcome.FAILS_MID_RUN),
    )
    found = [option(f"{b} {w}", made(b, w), 5.0) for b in ("40", "50") for w in "01"]
    plan = now(found, runs, (FRAMES,))
    assert plan.acts[0].candidate == "40 1"
    assert plan.stop.startswith("go on")


def test_a_state_that_failed_its_soak_holds_no_record() -> None:
    high = at("40", "3")
    good = (*RUNS, seen(high, "24.0", number="2", when="2020-01-02T19:00"))
    bad = seen(high, "", number="3", when="2020-01-03T19:00", outcome=Outcome.FAILS_MID_RUN)
    bad = msgspec.structs.replace(bad, run=msgspec.structs.replace(bad.run, place="soak"))
    assert record_states("quay-1", (FRAMES,), good)["w2"].printed == pytest.approx(24.0, rel=1e-4)
    assert record_states("quay-1", (FRAMES,), (*good, bad))["w2"].printed == pytest.approx(20.0, rel=1e-4)
    again = seen(high, "", number="4", when="2020-01-04T19:00", outcome=Outcome.SOAKED)
    assert record_states("quay-1", (FRAMES,), (*good, bad, again))["w2"].printed == pytest.approx(
        24.0, rel=1e-4
    )


def test_red_is_marked_and_last_but_there() -> None:
    plan = now(
        [option("r", at("40", "4"), 1.0, red=("write-back without snoop",)), option("g", at("100/3", "4"))],
        RUNS,
        (FRAMES,),
    )
    assert [a.candidate for a in plan.acts] == ["g", "r"]
    assert plan.acts[1].red
    assert "write-back without snoop" in plan.acts[1].cautions


def test_without_runs_the_likeliest_state_comes_first() -> None:
    plan = now([option("high", at("50", "4")), option("low", at("25", "3"))], (), (FRAMES,))
    assert plan.acts[0].candidate == "low"
    assert "first" in plan.acts[0].why


def test_stop_rule_is_a_sentence_with_figures() -> None:
    plan = now([option("down", at("25", "3"))], RUNS, (FRAMES,))
    assert plan.stop.startswith("stop:")
    assert now([option("up", at("40", "4"))], RUNS, (FRAMES,)).stop.startswith("go on")


def test_only_what_can_come_first_is_judged_and_reds_still_come_last() -> None:
    asked: list[str] = []

    def judge(state: Setup) -> tuple[str, ...]:
        asked.append(str(state.clocks["bus_mhz"]))
        return ("write-back without snoop",) if state.clocks["bus_mhz"] == 40 else ()

    many = [option(f"r{n}", at(f"{1000 + n}/40", "3"), 5.0 + n) for n in range(40)]
    plan = now([option("red", at("40", "4"), 1.0), *many], RUNS, (FRAMES,), limit=3, judge=judge)
    assert "40" in asked
    assert len(asked) < 12
    assert [a.red for a in plan.acts] == sorted(a.red for a in plan.acts)
    whole = now([option("red", at("40", "4"), 1.0)], RUNS, (FRAMES,), judge=judge)
    assert [a.red for a in whole.acts] == [True]


def test_an_act_that_adds_what_shows_nowhere_is_left_out() -> None:
    def moved(**more: str) -> Setup:
        here = {"bus_mhz": "100/3", "ratio": "4", "cpu": "x5-133", **more}
        return setup(here, BOARD, PART)  # type: ignore[arg-type]

    base = setup({"bus_mhz": "100/3", "ratio": "3", "cpu": "x5-133"}, BOARD, PART)  # type: ignore[arg-type]
    found = [option("", base), option("plain", moved(), 5.0), option("idle", moved(parity="off"), 9.0)]
    plan = now(found, RUNS, (FRAMES,))
    assert [a.candidate for a in plan.acts] == ["plain"]
