"""Differences of two runs: the figures of a worked example, computed by hand and by SciPy."""

from __future__ import annotations

import pytest
from makers import FRAMES, SECONDS, reading, run
from scipy import stats

from leadoff.forecast.compare import compare
from leadoff.forecast.repeat import Repeatability, repeatability
from leadoff.record.errors import LeadoffError
from leadoff.record.runs import Outcome, Run

SLOW = run("61.2 61.5 61.3 61.6 61.0", number="1")
FAST = run("61.6 61.3 61.8 61.4 61.5", number="2")


@pytest.mark.reference
def test_five_against_five_is_within_the_noise() -> None:
    got = compare(SLOW, FAST, FRAMES)
    want = stats.ttest_ind([r.value for r in FAST.readings], [r.value for r in SLOW.readings])
    lo, hi = want.confidence_interval(0.95)
    assert got.p95 == pytest.approx((lo, hi), abs=1e-9)
    assert got.p95 == pytest.approx((-0.12, 0.52), abs=0.02)
    assert got.difference.value == pytest.approx(0.20, abs=1e-9)
    assert got.ratio_pct.value == pytest.approx(0.33, abs=0.005)
    assert got.verdict == "not_shown"
    assert got.runs_each is not None
    assert 18 <= got.runs_each <= 20
    assert got.possible_pct[1] == pytest.approx(0.84, abs=0.01)
    assert not got.house_used


def test_advice_names_order_and_seconds() -> None:
    words = " ".join(compare(SLOW, FAST, FRAMES).advice)
    assert "A B B A" in words
    assert "seconds" in words
    assert "one after the other" in words


def test_one_run_each_uses_the_house_and_says_so() -> None:
    got = compare(run("50.0"), run("52.0", number="2"), FRAMES)
    assert got.house_used
    assert got.verdict == "shown"  # 4 % against a repeatability of .3 %
    assert "assumed" in " ".join(got.advice)
    near = compare(run("50.0"), run("50.1", number="2"), FRAMES)
    assert near.verdict == "not_shown"


def test_seconds_turn_the_better_side_round() -> None:
    got = compare(run("52.0", workload="w9"), run("50.0", workload="w9", number="2"), SECONDS)
    assert got.difference.value == pytest.approx(-2.0)
    assert got.better == 1


def test_a_failure_is_no_score() -> None:
    with pytest.raises(LeadoffError, match="no score"):
        compare(run("50.0"), run("", number="2", outcome=Outcome.FAILS_MID_RUN), FRAMES)
    with pytest.raises(LeadoffError, match="not of w9"):
        compare(run("50.0"), run("50.0", number="2"), SECONDS)


def test_readings_that_all_print_alike_are_not_exact() -> None:
    got = compare(run("13.6 13.6 13.6 13.6"), run("13.7 13.7 13.7 13.7", number="2"), FRAMES)
    assert got.sd > 0.02


def test_repeatability_is_assumed_at_first_and_measured_after_ten_pairs() -> None:
    none = repeatability(FRAMES, ())
    assert none.assumed
    assert none.sd_log == pytest.approx(0.0033, abs=0.0003)  # root mean square of log-normal(.26 %, .5)
    pairs = [
        Run(
            number=str(i),
            board="quay-1",
            workload="w2",
            outcome=Outcome.REPEATS,
            readings=(reading(f"{1400 + d / 2:.1f}"), reading(f"{1400 - d / 2:.1f}")),
        )
        for i, d in enumerate((3.0, -2.0, 5.0, 1.0, -4.0, 2.5, -6.0, 3.5, 0.5, -1.5, 4.5, -3.0))
    ]
    taught = repeatability(FRAMES, pairs)
    assert not taught.assumed
    assert taught.pairs == 12
    # sum of squared half differences / pairs: sd = sqrt(mean(d^2) / 2) / 1400
    assert taught.sd_log == pytest.approx(0.0017, abs=0.0003)
    assert isinstance(taught, Repeatability)
