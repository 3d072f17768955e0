"""Chance to hold: what it rests on, what runs teach, and that it never turns the wrong way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.record.errors import LeadoffError
from leadoff.timing import (
    Belief,
    Pattern,
    PatternVerdict,
    Trial,
    budget_terms,
    learn,
    patterns,
    period_ns,
    prior,
    writes,
)
from leadoff.timing.belief import trial_legs
from leadoff.timing.derate import delay_factor

HELD_40 = Trial(
    bus_family="486", clock_mhz=40, pattern="2-1-1-1", held=True, sram_ns=15, banks=2, ref="run-a"
)
FAILED_50 = Trial(
    bus_family="486", clock_mhz=50, pattern="2-1-1-1", held=False, sram_ns=15, banks=2, ref="run-b"
)


def read(pattern: str = "2-1-1-1", **given: object) -> PatternVerdict:
    base: dict[str, object] = {"bus_family": "486", "clock_mhz": 40, "sram_ns": 15, "banks": 2}
    return patterns(expressible=[Pattern.parse(pattern)], **{**base, **given})[0]  # type: ignore[arg-type]


def chance(**given: object) -> float:
    value = read(**given).chance_hold.value  # type: ignore[arg-type]
    assert value is not None
    return value


@pytest.mark.parametrize("mhz", ["100/3", "40", "45", "50"])
@pytest.mark.parametrize("pattern", ["2-1-1-1", "3-1-1-1", "3-2-2-2"])
def test_grid_sum_agrees_with_plain_sampling(mhz: str, pattern: str) -> None:
    # Outside check of the arithmetic: the same model sampled 400,000 times, without grid and cut-offs.
    trial = Trial(bus_family="486", clock_mhz=mhz, pattern=pattern, held=True, sram_ns=15, banks=2)
    terms, rng, n = budget_terms(), np.random.default_rng(7), 400_000
    half = (math.log(0.85) - math.log(0.65)) / 2 / 1.6448536
    middle = (math.log(0.85) + math.log(0.65)) / 2
    silicon = np.exp(rng.normal(middle, half, n))
    odd = rng.random(n) < terms.silicon.odd_share
    silicon[odd] = np.exp(
        rng.normal(math.log(terms.silicon.odd_median), terms.silicon.odd_log_sd, int(odd.sum()))
    )
    processor = np.exp(rng.normal(middle, half, n))
    sampled = {t.name: t.median_ns * np.exp(t.log_sd * rng.normal(size=n)) for t in terms.term}
    worst = np.full(n, np.inf)
    for leg in trial_legs(trial, terms):
        delay = leg.processor_ns * processor + leg.chip_ns * silicon
        delay = delay + sum(share * sampled[name] for name, share in leg.terms)
        worst = np.minimum(worst, leg.clocks * period_ns(mhz) - delay)
    plain = float((worst + rng.normal(0, terms.evidence.noise_ns, n) >= 0).mean())
    assert chance(clock_mhz=mhz, pattern=pattern) == pytest.approx(plain, abs=0.01)


def test_held_at_40_and_not_at_50_moves_45() -> None:
    after = learn([HELD_40, FAILED_50])
    low, mid, high = (chance(clock_mhz=f, belief=after) for f in (40, 45, 50))
    assert low > chance(clock_mhz=40)
    assert high < chance(clock_mhz=50)
    assert low > 0.95
    assert high < 0.12
    assert high < mid < low
    only_failed, only_held = learn([FAILED_50]), learn([HELD_40])
    assert chance(clock_mhz=45, belief=only_failed) < mid < chance(clock_mhz=45, belief=only_held)
    assert read(belief=after).chance_hold.refs == ("run-a", "run-b")


def test_a_run_at_45_settles_45() -> None:
    base = Trial(bus_family="486", clock_mhz=45, pattern="2-1-1-1", held=True, sram_ns=15, banks=2)
    assert chance(clock_mhz=45, belief=learn([base])) > chance(clock_mhz=45) + 0.15


def test_evidence_does_not_depend_on_its_order() -> None:
    one, two = learn([HELD_40, FAILED_50]), learn([FAILED_50, HELD_40])
    assert chance(clock_mhz=45, belief=one) == pytest.approx(chance(clock_mhz=45, belief=two), abs=1e-12)


def test_a_run_told_often_weighs_as_often() -> None:
    """Equal runs are weighed together; the answer is that of one after the other."""
    one_by_one = learn([])
    for trial in (HELD_40, FAILED_50, HELD_40, HELD_40):
        one_by_one = one_by_one.after([trial])
    at_once = learn([HELD_40, HELD_40, FAILED_50, HELD_40])
    assert chance(clock_mhz=45, belief=at_once) == pytest.approx(
        chance(clock_mhz=45, belief=one_by_one), abs=1e-12
    )
    assert at_once.refs == ("run-a", "run-a", "run-b", "run-a")
    assert chance(clock_mhz=45, belief=learn([HELD_40] * 400)) > chance(clock_mhz=45, belief=learn([HELD_40]))


def test_the_same_answer_on_any_day() -> None:
    assert chance(clock_mhz=45, belief=learn([HELD_40])) == chance(clock_mhz=45, belief=learn([HELD_40]))


def test_other_chips_teach_about_the_board_only() -> None:
    slow = Trial(
        bus_family="486", clock_mhz=50, pattern="2-1-1-1", held=True, sram_ns=20, banks=2, same_chips=False
    )
    before, after = prior(budget_terms()), learn([slow])
    assert after.silicon().value == pytest.approx(before.silicon().value, rel=0.005)
    compare, compare_before = after.term_ns("compare").value, before.term_ns("compare").value
    assert compare is not None
    assert compare_before is not None
    assert compare < compare_before - 0.5
    assert chance(clock_mhz=50, belief=after) > chance(clock_mhz=50)


def test_one_failure_may_have_another_cause() -> None:
    row = budget_terms().evidence
    assert 0 < row.other_cause_share < 0.5
    easy = Trial(bus_family="486", clock_mhz=25, pattern="3-2-2-2", held=False, sram_ns=12, banks=2)
    assert chance(clock_mhz=40, belief=learn([easy])) > 0.5 * chance(clock_mhz=40)


def test_prior_of_the_chips_is_the_judgement_row() -> None:
    found = prior(budget_terms()).silicon()
    assert found.value == pytest.approx(0.745, abs=0.01)
    assert (found.lo, found.hi) == (pytest.approx(0.65, abs=0.01), pytest.approx(0.855, abs=0.015))


def test_the_two_answers_are_apart() -> None:
    # 2-1-1-1 with 15 ns at 45 MHz is outside of the maxima and yet more likely than not to run.
    verdict = read(clock_mhz=45)
    assert verdict.inside_max is False
    assert verdict.chance_hold.value is not None
    assert 0.4 < verdict.chance_hold.value < 0.9
    # Learning never changes what the data sheets guarantee.
    assert read(clock_mhz=45, belief=learn([HELD_40])).slack_ns == verdict.slack_ns


def test_hot_and_starved_is_slower() -> None:
    row = budget_terms().derating
    assert delay_factor(row, temp_c=25, volts_pct=0) == 1.0
    assert delay_factor(row, temp_c=70, volts_pct=0) > 1.1
    assert delay_factor(row, temp_c=25, volts_pct=-5) > 1.0
    assert chance(clock_mhz=45, temp_c=70) < chance(clock_mhz=45) < chance(clock_mhz=45, volts_pct=5)
    with pytest.raises(LeadoffError, match=r"140 C and \+0 % volts: the rule holds from 0 to 100 C"):
        delay_factor(row, temp_c=140, volts_pct=0)


trials = st.lists(
    st.builds(
        Trial,
        bus_family=st.just("486"),
        clock_mhz=st.sampled_from([25.0, 33.3, 40.0, 50.0]),
        pattern=st.sampled_from(["2-1-1-1", "3-1-1-1", "2-2-2-2", "3-2-2-2"]),
        held=st.booleans(),
        sram_ns=st.sampled_from([12.0, 15.0, 20.0]),
        banks=st.sampled_from([1, 2]),
        same_chips=st.booleans(),
    ),
    max_size=3,
)
clock = st.floats(20, 60)
grade = st.floats(8, 30)
shape = st.sampled_from(["2-1-1-1", "3-1-1-1", "2-2-2-2", "3-2-2-2", "4-3-3-3"])
# A 386 runs whole cycles only, so each of its beats takes two clocks or more.
case = st.one_of(
    st.tuples(st.sampled_from(["486", "64bit"]), shape),
    st.tuples(st.just("386"), st.sampled_from(["2-2-2-2", "3-3-3-3", "3-2-2-2"])),
)
banks_of = st.sampled_from([1, 2])
EPS = 1e-9


@settings(max_examples=40, deadline=None)
@given(seen=trials, f=clock, faster=st.floats(0, 20), ns=grade, on=case, banks=banks_of)
def test_slack_and_chance_fall_with_clock(
    seen: list[Trial], f: float, faster: float, ns: float, on: tuple[str, str], banks: int
) -> None:
    belief: Belief = learn(seen)
    bus, p = on
    for rated in (None, 50.0):
        same = {"bus_family": bus, "sram_ns": ns, "banks": banks, "belief": belief, "rated_bus_mhz": rated}
        slow, fast = read(p, clock_mhz=f, **same), read(p, clock_mhz=f + faster, **same)
        assert_not_better(fast, slow)


@settings(max_examples=40, deadline=None)
@given(seen=trials, f=clock, ns=grade, slower=st.floats(0, 10), tag=grade, on=case, banks=banks_of)
def test_slack_and_chance_rise_with_faster_chips(
    seen: list[Trial], f: float, ns: float, slower: float, tag: float, on: tuple[str, str], banks: int
) -> None:
    bus, p = on
    same = {"clock_mhz": f, "bus_family": bus, "banks": banks, "belief": learn(seen)}
    assert_not_better(
        read(p, sram_ns=ns + slower, tag_ns=tag, **same), read(p, sram_ns=ns, tag_ns=tag, **same)
    )
    assert_not_better(
        read(p, sram_ns=ns, tag_ns=tag + slower, **same), read(p, sram_ns=ns, tag_ns=tag, **same)
    )


@settings(max_examples=30, deadline=None)
@given(
    f=clock,
    faster=st.floats(0, 20),
    ns=grade,
    n=st.integers(2, 4),
    bus=st.sampled_from(["386", "486", "64bit"]),
)
def test_writes_too(f: float, faster: float, ns: float, n: int, bus: str) -> None:
    (slow,) = writes(bus_family=bus, clock_mhz=f, sram_ns=ns, clocks=[n])
    (fast,) = writes(bus_family=bus, clock_mhz=f + faster, sram_ns=ns, clocks=[n])
    assert_not_better(fast, slow)
    (longer,) = writes(bus_family=bus, clock_mhz=f, sram_ns=ns, clocks=[n + 1])
    assert_not_better(slow, longer)


@settings(max_examples=30, deadline=None)
@given(f=clock, ns=grade, hot=st.floats(25, 70), hotter=st.floats(0, 20), sag=st.floats(-5, 5), p=shape)
def test_heat_and_sagging_volts_never_help(
    f: float, ns: float, hot: float, hotter: float, sag: float, p: str
) -> None:
    cool = chance(clock_mhz=f, sram_ns=ns, temp_c=hot, volts_pct=sag, pattern=p)
    assert chance(clock_mhz=f, sram_ns=ns, temp_c=hot + hotter, volts_pct=sag, pattern=p) <= cool + EPS
    assert chance(clock_mhz=f, sram_ns=ns, temp_c=hot, volts_pct=sag - 3, pattern=p) <= cool + EPS


ORDER = {True: 2, "within the band": 1, False: 0}


def assert_not_better(worse: PatternVerdict, better: PatternVerdict) -> None:
    for part in ("value", "lo", "hi"):
        assert getattr(worse.slack_ns, part) <= getattr(better.slack_ns, part) + EPS
    assert worse.chance_hold.value <= better.chance_hold.value + EPS  # type: ignore[operator]
    assert ORDER[worse.inside_max] <= ORDER[better.inside_max]
    assert better.slack_ns.lo <= better.slack_ns.value <= better.slack_ns.hi  # type: ignore[operator]
