"""Beyond the expansion bus: which limits each bus clock breaks (shared scenario D; board and part invented)."""

from __future__ import annotations

import pytest

from cli_bench import Bench

BOARD = """
[board]
id = "quay-slot"
class = "slot1"
buses = ["agp", "pci"]
rails_v = [2.0]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b", "c"]
sets = { bus_mhz = { a = 100, b = 124, c = 133 } }
[dividers]
pci = { 100 = "1/3", 133 = "1/4" }
agp = "2/3"
[[option]]
id = "cas"
choices = ["2", "3"]
[fitted]
cpu = "fast550"
memory = [{ site = "dimm1", mb = 128, type = "sdram", ns = 8, cas = 3 }]
[now]
JP1 = "a"
cas = 3
disk = "ide drive inside"
"""
ROW = """
[[cpu]]
id = "fast550"
v = 2.0
watts = 30.8
mhz = 550
locked = 5.5
l2_clock = "1/2"
l2_kb = 512
"""


@pytest.fixture
def quay(bench: Bench) -> Bench:
    bench.own_rows(ROW)
    bench.board(BOARD)
    bench("log", "quay-slot", "w1 74.0 frames/s")
    return bench


CLOCKS = {
    "124": {"core_mhz": 682, "l2_mhz": 341, "pci_mhz": 41.33, "agp_mhz": 82.67},
    "133": {"core_mhz": 733.3, "l2_mhz": 366.7, "pci_mhz": 33.33, "agp_mhz": 88.89},
}
OVER = {
    "124": {"core_clock": 24, "l2_clock": 24, "pci_clock": 24, "agp_clock": 24},
    "133": {"core_clock": 33.3, "l2_clock": 33.3, "agp_clock": 33.3, "memory_clock": 6.67},
}


@pytest.mark.parametrize("bus", ["124", "133"])
def test_clocks_and_what_is_over_its_limit(quay: Bench, bus: str) -> None:
    card = quay("card", "quay-slot", "--want", f"bus {bus}")
    for name, mhz in CLOCKS[bus].items():
        assert card.data["clocks"][name]["value"] == pytest.approx(mhz, rel=3e-3), name
    lines = card.lines()
    # The part's own clocks beyond its rating are the tuner's choice: amber. What endangers others is red.
    red = {topic for topic, line in lines.items() if line["verdict"] == "red"}
    assert red == set(OVER[bus]) - {"core_clock", "l2_clock"}
    assert lines["core_clock"]["verdict"] == lines["l2_clock"]["verdict"] == "amber"
    for topic, pct in OVER[bus].items():
        assert lines[topic]["over_pct"] == pytest.approx(pct, abs=0.5), topic
    assert {b["what"] for b in card.data["beyond"]} == set(OVER[bus])


@pytest.mark.parametrize(("bus", "period_ns", "verdict"), [("124", 8.06, "green"), ("133", 7.5, "red")])
def test_memory_period_against_its_grade(quay: Bench, bus: str, period_ns: float, verdict: str) -> None:
    line = quay("card", "quay-slot", "--want", f"bus {bus}").lines()["memory_clock"]
    assert line["value"]["value"] == pytest.approx(period_ns, abs=0.01)
    assert line["verdict"] == verdict
    assert "CAS latency 3" in line["why"]


def test_a_latency_below_the_rating_is_not_inside(quay: Bench) -> None:
    line = quay("card", "quay-slot", "--want", "bus 124 cl2").lines()["memory_clock"]
    assert line["verdict"] == "amber"
    assert "only at CAS latency 3" in line["why"]


def test_only_100_is_inside_every_limit(quay: Bench) -> None:
    assert quay("card", "quay-slot").data["beyond"] == []
    assert quay("card", "quay-slot", "--want", "bus 124").data["beyond"] != []
    assert quay("card", "quay-slot", "--want", "bus 133").data["beyond"] != []


def test_the_faster_bus_is_safer_for_the_disk(quay: Bench) -> None:
    at_124 = quay("card", "quay-slot", "--want", "bus 124").lines()["pci_clock"]
    at_133 = quay("card", "quay-slot", "--want", "bus 133").lines()["pci_clock"]
    assert "image the disk first" in at_124["caution"]
    assert "a boot is no pass" in at_124["caution"]
    assert (at_133["verdict"], at_133["caution"]) == ("green", "")


def test_the_display_card_is_at_risk_at_133(quay: Bench) -> None:
    assert (
        "display card is at risk"
        in quay("card", "quay-slot", "--want", "bus 133").lines()["agp_clock"]["caution"]
    )


@pytest.mark.parametrize(("bus", "upper"), [("124", 91.8), ("133", 98.7)])
def test_upper_bounds_are_all_clocks_scaling(quay: Bench, bus: str, upper: float) -> None:
    found = quay("forecast", "quay-slot", "--want", f"bus {bus}", "--no-seal", "--model", "clocks").data
    (w1,) = found["workloads"]
    assert w1["upper"] == pytest.approx(upper, abs=0.05)
    assert found["basis"] == "clocks"


def test_reds_warn_and_never_forbid(quay: Bench) -> None:
    moved = quay("move", "quay-slot", "bus 124")
    assert moved.data["moves"]
    assert "pci_clock" in moved.marks("red")
    run = quay("log", "quay-slot", "w1 88.1").data["run"]
    assert "red:pci_clock" in run["flags"]
    assert run["score"]["value"] == 88.1
    seen = quay("state", "quay-slot").data["runs"]
    assert [r["number"] for r in seen] == ["1", "2"]  # a run made beyond a limit is kept in sight


def test_a_red_that_rests_on_memory_says_so(quay: Bench) -> None:
    line = quay("card", "quay-slot", "--want", "bus 124").lines()["agp_clock"]
    assert line["certainty"] in ("memory", "read", "practice")
    assert ("from memory" in line["why"]) == (line["certainty"] == "memory")
