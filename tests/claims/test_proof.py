"""Counts, differences and sample sizes through the command line, against published figures."""

from __future__ import annotations

import pytest

from cli_bench import Bench, run
from leadoff.forecast.student import runs_each, t_quantile


@pytest.mark.reference
def test_counts_of_the_scenario(bench: Bench) -> None:
    """Shared scenario C; limits by Clopper and Pearson, Biometrika 26, 1934."""
    none = bench("proof", "0/60").data
    assert 100 * none["below_one_sided_95"] == pytest.approx(4.9, abs=0.05)
    three = bench("proof", "3 of 60").data
    assert (100 * three["rate"]["lo"], 100 * three["rate"]["hi"]) == pytest.approx((1.0, 13.9), abs=0.05)
    assert "[1.0, 13.9]" in three["said"]


@pytest.mark.reference
def test_rows_of_the_scenario(bench: Bench) -> None:
    """Shared scenario B, its figures: +0.20, -0.12 to +0.52, up to +0.84 %, 18 to 20 runs each."""
    found = bench("proof", "61.2 61.5 61.3 61.6 61.0 vs 61.6 61.3 61.8 61.4 61.5").data
    assert found["difference"]["value"] == pytest.approx(0.20, abs=0.001)
    assert found["p95"] == pytest.approx([-0.12, 0.52], abs=0.02)
    assert found["possible_pct"][1] == pytest.approx(0.84, abs=0.02)
    assert found["verdict"] == "not_shown"
    assert 18 <= found["runs_each"] <= 20
    said = " ".join(found["advice"])
    assert "A B B A" in said
    assert "seconds" in said


@pytest.mark.reference
@pytest.mark.parametrize(("effect", "each"), [(0.2, 393), (0.5, 64), (0.8, 26)])
def test_published_sample_sizes(effect: float, each: int) -> None:
    """J. Cohen, A Power Primer, Psychological Bulletin 112 (1992), table 2: two means, 5 % two-sided, power 0.80
    (from memory)."""
    assert runs_each(effect, 1.0) in (each, each + 1)


@pytest.mark.reference
@pytest.mark.parametrize(("df", "t"), [(1, 12.706), (4, 2.776), (8, 2.306), (30, 2.042)])
def test_published_t_table(df: int, t: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper critical values of t, 0.975 (from memory)."""
    assert t_quantile(0.975, df) == pytest.approx(t, abs=0.0006)


@pytest.mark.reference
def test_clean_runs_for_a_bound(bench: Bench) -> None:
    """The sample of a success run, n = ln(0.05) / ln(R): 59 for 95 %, 299 for 99 % (common practice; from memory)."""
    assert bench("proof", "--below", "5").data["clean_runs"] == 59
    assert bench("proof", "--below", "1").data["clean_runs"] == 299


BOARD = """
[board]
id = "mole-386"
class = "386dx"
buses = ["isa"]
[now]
"""


def test_runs_needed_by_the_repeatability_of_the_book(bench: Bench) -> None:
    bench.board(BOARD)
    answer = bench("proof", "--difference", "0.5")
    assert "repeatability_assumed" in answer.marks("note")
    few, many = (bench("proof", "--difference", d).data["runs_each"] for d in ("1", "0.25"))
    assert few < answer.data["runs_each"] < many
    out = run("proof", "--difference", "0.5").out
    assert "runs in each state" in out


def test_what_cannot_be_asked(bench: Bench) -> None:
    assert bench.refused("proof", "soon").codes == ["ask"]
    assert bench.refused("proof", "7/5").codes == ["no_count"]
    assert bench.refused("proof", "--below", "0").codes == ["no_rate"]
    assert bench.refused("proof", "61.2 vs fast").codes == ["not_a_number"]


def test_scenario_b_by_why(bench: Bench) -> None:
    """The same rows logged on a board and asked of two runs."""
    bench.board(BOARD.replace("mole", "vole"))
    bench("log", "vole-386", "w1 61.2 61.5 61.3 61.6 61.0 frames/s")
    bench("log", "vole-386", "w1 61.6 61.3 61.8 61.4 61.5")
    found = bench("why", "1", "2").data
    assert found["verdict"] == "not_shown"
    assert found["p95"] == pytest.approx([-0.12, 0.52], abs=0.02)
    assert 18 <= found["runs_each"] <= 20
