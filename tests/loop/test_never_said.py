"""What nobody ever said is listed as unknown, and a rail that may feed the core is judged as an if."""

from __future__ import annotations

from cli_bench import Bench

TWO_RAILS = """
[board]
id = "mole-s7"
class = "socket7"
buses = ["pci", "isa"]
rails = [{ v = 3.3, amps = 5.0 }, { v = 2.2, amps = 8.0 }]
sheet_confirmed = true
dividers = { pci = { 66 = "1/2", 100 = "1/3" }, isa = "1/8" }
[[jumper]]
id = "J1"
positions = ["a", "d"]
sets = { bus_mhz = { a = 66, d = 100 } }
[fitted]
cpu = { id = "mine400", v = 2.2, mhz = 400, amps = 7.0, watts = 16.9, ratios = [4] }
cache = { kb = 512, ns = 5 }
memory = [{ site = "d0", mb = 64, type = "sdram", ns = 8, cas = 2 }]
[now]
J1 = "d"
ratio = 4
"""
NO_PROCESSOR = """
[board]
id = "wren-286"
class = "286"
buses = ["isa"]
[[jumper]]
id = "osc"
positions = ["24", "32"]
sets = { bus_mhz = { "24" = 12, "32" = 16 } }
[fitted]
cache = 0
[now]
osc = "24"
"""


def test_a_board_without_its_processor_lists_it(bench: Bench) -> None:
    added = bench.board(NO_PROCESSOR)
    assert added.data["unknown"] == ["cpu", "ram_mb"]
    state = bench("state", "wren-286").data
    assert state["settings"]["cpu"]["status"] == "unknown"
    assert state["settings"]["cpu"]["value"] is None
    bench("log", "wren-286", "w1", "12.4", "--unit", "s")
    asked = bench("forecast", "wren-286").data["workloads"][0]
    assert asked["undefined"] == (
        "cannot say: core_mhz of the state is not known; say which processor is fitted"
    )


def test_core_volts_that_nobody_said_are_judged_as_an_if(bench: Bench) -> None:
    assert bench.board(TWO_RAILS).data["unknown"] == ["core_v"]
    lines = [x for x in bench("card", "mole-s7").data["lines"] if x["topic"] == "core_volts"]
    found = {x["verdict"]: x for x in lines}
    assert found["red"]["why"].startswith("if the core gets 3.3 V, which is not known: mine400 takes 2.2 V")
    assert "Measure the empty socket" in found["red"]["caution"]
    assert found["amber"]["why"].startswith("if the core gets 2.2 V, which is not known: ")
    bench("move", "mole-s7", "core 2.2 V")
    after = [x for x in bench("card", "mole-s7").data["lines"] if x["topic"] == "core_volts"]
    assert [x["verdict"] for x in after] == ["amber"]
    assert after[0]["why"].startswith("mine400 takes 2.2 V; 2.2 V is +0.0 % volts")


def test_a_third_pci_divider_shows_what_the_board_is_made_for(bench: Bench) -> None:
    bench.board(TWO_RAILS)
    wired = bench("forecast", "mole-s7").data["chance"]["hold"]["value"]
    bench.board(TWO_RAILS.replace('100 = "1/3"', '100 = "1/2"').replace("mole-s7", "vole-s7"))
    not_wired = bench("forecast", "vole-s7").data["chance"]["hold"]["value"]
    assert wired > 5 * not_wired
