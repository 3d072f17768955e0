"""The house as an instrument: repeats, drift, evenings, anchor, and a timer against footage."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import f as fisher

from cli_bench import Bench, run
from leadoff.claims.timer import timer
from leadoff.forecast.student import f_tail
from leadoff.record.errors import LeadoffError

BOARD = """
[board]
id = "pier-486"
class = "486vlb"
buses = ["vlb", "isa"]
rails_v = [5.0]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 25, b = 33 } }
[fitted]
cpu = "486dx2-66-5v"
[now]
JP1 = "b"
"""


@pytest.mark.reference
@pytest.mark.parametrize(
    ("df", "df2", "f"), [(1, 10, 4.965), (3, 12, 3.490), (5, 20, 2.711), (10, 60, 1.993)]
)
def test_published_f_table(df: int, df2: int, f: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.3, upper critical values of F at 5 % (from memory),
    and SciPy."""
    assert f_tail(f, df, df2) == pytest.approx(0.05, abs=0.0001)
    assert f_tail(f, df, df2) == pytest.approx(float(fisher.sf(f, df, df2)), rel=1e-9)


def filled(
    bench: Bench, *, per_hour: float, by_evening: float, seed: int, evenings: int = 6, runs: int = 4
) -> None:
    """Evenings with one state run four times each, half an hour apart; noise .2 %, printed to two decimals."""
    bench.board(BOARD)
    rng = np.random.default_rng(seed)
    for e in range(evenings):
        own = rng.normal(0.0, by_evening)
        for k in range(runs):
            value = 40.0 * np.exp(own + per_hour * 0.5 * k + rng.normal(0.0, 0.002))
            at = f"2031-03-{e + 1:02d}T{19 + k // 2:02d}:{30 * (k % 2):02d}:00"
            bench("log", "pier-486", f"w2 {value:.2f} frames/s", "--at", at)


def house(bench: Bench) -> dict:  # type: ignore[type-arg]
    found: dict = bench("proof", "--house", "--workload", "w2").data["workloads"][0]  # type: ignore[type-arg]
    return found


def test_a_drift_within_evenings_is_found_with_its_size(bench: Bench) -> None:
    filled(bench, per_hour=0.01, by_evening=0.0, seed=1)
    made = house(bench)
    assert made["drift"]["shown"]
    assert made["drift"]["lo"] < 1.0 < made["drift"]["hi"]
    assert made["drift"]["hi"] - made["drift"]["lo"] < 0.6
    assert any("warm up" in a for a in made["advice"])


def test_evenings_that_differ_are_found_and_the_anchor_is_named(bench: Bench) -> None:
    filled(bench, per_hour=0.0, by_evening=0.01, seed=2)
    made = house(bench)
    assert made["evenings"]["shown"]
    assert 0.4 < made["evenings"]["sd_pct"] < 2.5
    assert made["evenings"]["evenings"] == 6
    assert (made["anchor"]["board"], made["anchor"]["evenings"], len(made["anchor"]["runs"])) == (
        "pier-486",
        6,
        24,
    )
    assert any("evenings differ" in a for a in made["advice"])


def test_a_steady_house_is_not_accused(bench: Bench) -> None:
    filled(bench, per_hour=0.0, by_evening=0.0, seed=3)
    made = house(bench)
    assert not made["drift"]["shown"]
    assert not made["evenings"]["shown"]
    assert made["step_pct"] < 0.05
    assert not made["coarse"]
    assert made["advice"] == []


def test_without_a_second_evening_it_says_what_to_run(bench: Bench) -> None:
    bench.board(BOARD)
    bench("log", "pier-486", "w2 4.8 4.8 frames/s")
    made = house(bench)
    assert made["drift"] is None
    assert made["evenings"] is None
    assert made["anchor"] is None
    assert made["coarse"]
    said = " ".join(run("proof", "--house").out.split())
    assert "as an anchor" in said
    assert "coarser than that" in said


def test_runs_minutes_apart_say_nothing_of_a_drift(bench: Bench) -> None:
    bench.board(BOARD)
    for minute, score in enumerate(("21.41", "21.52", "21.46")):
        bench("log", "pier-486", f"w2 {score} frames/s", "--at", f"2031-03-02T19:{minute:02d}:00")
    made = house(bench)
    assert made["drift"] is None
    assert made["too_close"]
    assert "too soon after the first time" in " ".join(run("proof", "--house").out.split())


def test_a_timer_that_loses_ticks_is_found_against_footage() -> None:
    """60 s by the program are 61 s and 5 frames of 25 on film: 2 % slow; a frame at each end is 0.05 %."""
    found = timer("60.00 vs 0:10:00 to 1:11:05 @25")
    assert found.verdict == "slow"
    assert found.pct == pytest.approx(2.0, abs=0.001)
    assert found.hi - found.lo == pytest.approx(2 * 2.0 * 100 * 0.04 / 6**0.5 / 60, rel=0.05)
    assert timer("60.0 vs 60.1; 41.2 vs 41.1").verdict == "agrees"
    assert timer("61,2 vs 60,0").verdict == "fast"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("41.2", "no pair of times"),
        ("41.2 vs 0:12:30 to 0:53:10 @25", "is no timecode at 25 frames a second"),
        ("41.2 vs 0:53:10 to 0:12:05 @25", "does not come after"),
        ("41.2 vs 0:12:05 to 0:53:10", "frames a second are missing"),
        ("0 vs 41", "cannot be compared"),
        ("x vs 41", "is no number of seconds"),
        ("", "no pair of times"),
    ],
)
def test_a_pair_that_is_none_is_refused_with_what_to_type(text: str, why: str) -> None:
    with pytest.raises(LeadoffError) as refused:
        timer(text)
    assert why in refused.value.problems[0].text
    assert "41.2 vs 41.9" in refused.value.problems[0].do
