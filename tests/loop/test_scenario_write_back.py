"""Write-back that is not safe: warned before, kept as unsafe after (the warning half of shared scenario C)."""

from __future__ import annotations

import pytest

from cli_bench import Bench
from invented_boards import MILL


@pytest.fixture
def mill(bench: Bench) -> Bench:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    return bench


def test_the_card_is_red_before_anything_is_switched(mill: Bench) -> None:
    assert "write_back" not in mill("card", "mill-486").lines()
    line = mill("card", "mill-486", "--want", "wb on").lines()["write_back"]
    assert line["verdict"] == "red"
    assert "stale memory" in line["why"]
    assert "late line write overwrites" in line["why"]
    assert "isa4" in line["why"]


def test_isa_masters_reach_sixteen_megabytes(mill: Bench) -> None:
    line = mill("card", "mill-486", "--want", "wb on").lines()["isa_reach"]
    assert line["verdict"] == "amber"
    assert (line["value"]["value"], line["limit"]["value"]) == (32, 16)
    out = mill("card", "mill-486", "--want", "bus_master off").lines()
    assert "isa_reach" not in out


def test_the_safe_way_in_exact_steps_with_the_signature_first(mill: Bench) -> None:
    caution = mill("card", "mill-486", "--want", "wb on").lines()["write_back"]["caution"]
    order = [
        "signature",
        "take out the disk in isa4",
        "programmed input and output",
        "floppy",
        "copy-compare",
    ]
    at = [caution.find(word) for word in order]
    assert -1 not in at
    assert at == sorted(at)
    assert "digitised sound" in caution


@pytest.mark.reference
def test_the_signatures_that_tell(mill: Bench) -> None:
    """CPU-id 0470: write-back on; 0436: it never switched (enhanced x2-66 data sheet; in the catalogue)."""
    caution = mill("card", "mill-486", "--want", "wb on").lines()["write_back"]["caution"]
    assert "0470 means write-back is really on" in caution
    assert "0436 means it never switched" in caution


@pytest.mark.reference
def test_sixty_clean_copies_bound_the_failure_rate(mill: Bench) -> None:
    """Exact binomial, one-sided 95 %: 1 - 0.05^(1/60) = 4.87 %."""
    from leadoff.safety.writeback_lines import zero_of_n_limit

    assert zero_of_n_limit(60) == pytest.approx(0.0487, abs=0.0002)
    caution = mill("card", "mill-486", "--want", "wb on").lines()["write_back"]["caution"]
    assert "0 bad of 60 bounds the failure rate below 4.9 %" in caution


def test_advice_ignored_is_marked_not_refused(mill: Bench) -> None:
    moved = mill("move", "mill-486", "wb on")
    assert "write_back" in moved.marks("red")
    assert any("CPU cache mode" in m["what"] for m in moved.data["moves"])
    logged = mill("log", "mill-486", "w1 6.08")
    run = logged.data["run"]
    assert run["score"]["value"] == 6.08
    assert {"unsafe", "not_soaked"} <= set(run["flags"])
    assert "write_back" in logged.marks("red")


def test_a_clean_run_is_not_unsafe_and_a_soak_counts(mill: Bench) -> None:
    assert "unsafe" not in mill("log", "mill-486", "w1 5.91").data["run"]["flags"]
    mill("log", "mill-486", "soak 8h ok")
    assert "not_soaked" not in mill("log", "mill-486", "w1 5.92").data["run"]["flags"]
    mill("move", "mill-486", "bus 40")
    assert "not_soaked" in mill("log", "mill-486", "w1 6.9").data["run"]["flags"]  # another state


def test_bad_copies_are_a_failure_not_a_pass(mill: Bench) -> None:
    run = mill("log", "mill-486", "copy 57/60").data["run"]
    assert run["outcome"] == "fails_mid_run"
    assert (run["count"], run["of"]) == (3, 60)
    assert "not_soaked" in mill("log", "mill-486", "w1 5.9").data["run"]["flags"]


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        ("wb on", "red"),
        ("wb on, bus_master off, dma off", "amber"),
        ("wb on, snoop_line on", "green"),
    ],
)
def test_what_makes_it_safe(mill: Bench, words: str, verdict: str) -> None:
    assert mill("card", "mill-486", "--want", words).lines()["write_back"]["verdict"] == verdict


def test_a_snoop_line_nobody_knows_of_is_never_green(bench: Bench) -> None:
    bench.board(MILL.replace("snoop_line = false\n", ""))
    assert bench("card", "mill-486", "--want", "wb on").lines()["write_back"]["verdict"] != "green"
