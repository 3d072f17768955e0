"""``leadoff swap``: advice on a change of cache or memory through the command line."""

from __future__ import annotations

from typing import Any

import pytest

from cli_bench import Bench, run

BOARD = """
[board]
id = "pier-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = 5.0, amps = 3 }]
sheet_confirmed = true
%s
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 33, b = 40 } }
[[option]]
id = "cache_read"
choices = ["2-1-1-1", "3-2-2-2"]
sets = { l2_read = { "2-1-1-1" = "2-1-1-1", "3-2-2-2" = "3-2-2-2" } }
[fitted]
cpu = "486dx2-66-5v"
cache = { kb = 256, ns = 15, banks = 2, chips = 8, tag_ns = 15, tag_bits = 8 }
memory = [{ site = "b0", mb = %d, type = "fpm", ns = 60 }]
[now]
JP1 = "%s"
cache_read = "2-1-1-1"
"""


def pier(bench: Bench, *, bus: str = "b", mb: int = 16, chipset: str = "") -> Bench:
    bench.board(BOARD % (f'chipset = "{chipset}"' if chipset else "", mb, bus))
    bench("move", "pier-486", "l2 wt, dram read 4-3-3-3")
    return bench


def told(data: dict[str, Any], list_: str, what: str) -> float:
    return float(next(p["score_change_pct"]["value"] for p in data[list_] if what in p["what"]))


def test_doubling_hurts_where_the_second_bank_is_lost(bench: Bench) -> None:
    # 512 KB of four chips is one bank and loses x-1-1-1 (comp.sys.ibm.pc.hardware FAQ, read)
    answer = pier(bench)("swap", "pier-486", "l2 4x128k8-20")
    data = answer.data
    assert (data["now"]["l2_banks"], data["then"]["l2_banks"]) == (2, 1)
    assert data["hit_then"]["value"] > data["hit_now"]["value"]
    assert data["pays"] == "no"
    assert data["score_change_pct"]["hi"] < 0
    assert told(data, "parts", "lines held") > 0 > told(data, "parts", "cache cycle")
    assert any("it hurts on the whole" in w for w in data["why"])
    even = data["break_even_l2_clocks"]["value"]
    assert data["now"]["read"]["clocks"][0] - 1 < even < data["then"]["read"]["clocks"][0]
    assert "pattern_may_not_hold" in answer.marks("amber")
    assert {"tag_depth", "sockets"} <= set(answer.marks("note"))


def test_doubling_pays_where_both_banks_stay(bench: Bench) -> None:
    data = pier(bench, bus="a")("swap", "pier-486", "l2 8x64k8-15").data
    assert data["then"]["l2_banks"] == 2
    assert data["then"]["read"]["clocks"] == data["now"]["read"]["clocks"]
    assert told(data, "parts", "lines held") > 0
    assert data["mean_fill_then"]["value"] < data["mean_fill_now"]["value"]


def test_banks_that_are_said_count_though_they_stay_as_many(bench: Bench) -> None:
    answer = pier(bench, bus="a")("swap", "pier-486", "l2 512k 15ns 2 banks")
    assert (answer.data["now"]["l2_banks"], answer.data["then"]["l2_banks"]) == (2, 2)
    assert not any("one bank taken" in n["text"] for n in answer.data.get("notes", ()))
    assert pier(bench, bus="a")("swap", "pier-486", "l2 512k 15ns").data["then"]["l2_banks"] == 1


def test_the_range_pays_where_memory_reaches_beyond_it(bench: Bench) -> None:
    # 256 KB x 2^8 = 64 MB of 128 MB; 512 KB reach 128 MB (Intel386 DX manual figure 7-3 for the arithmetic)
    data = pier(bench, bus="a", mb=128)("swap", "pier-486", "l2 4x128k8-15").data
    assert (data["now"]["cacheable_mb"]["value"], data["then"]["cacheable_mb"]["value"]) == (64, 128)
    assert (data["now"]["beyond_share"], data["then"]["beyond_share"]) == (0.5, 0)
    low, spread, top = (told(data, "placed", w) for w in ("low", "spread", "top"))
    assert low < spread < top
    assert told(data, "parts", "cacheable range") > told(data, "parts", "lines held") > 0
    small = pier(bench, bus="a", mb=16)("swap", "pier-486", "l2 4x128k8-15").data
    assert small["placed"] == []


def test_edo_that_the_chipset_does_not_time_changes_nothing_and_the_risk_comes_first(bench: Bench) -> None:
    # common practice, no source: banks of EDO that share a bus may fight at start
    answer = pier(bench, chipset="486-vlb-two-thirds")("swap", "pier-486", "ram edo")
    assert "may fight" in answer.marks("amber")["edo_bus_fight"]
    assert "common practice" in answer.marks("amber")["edo_bus_fight"]
    assert answer.data["score_change_pct"]["value"] == pytest.approx(0.0, abs=1e-9)
    assert any("does not time EDO" in w for w in answer.data["why"])


def test_a_change_below_a_step_of_the_score_is_said_to_be(bench: Bench) -> None:
    pier(bench, chipset="486-vlb-two-thirds")
    bench("log", "pier-486", "w2 23.4 23.4", "--unit", "frames/s")
    row = bench("swap", "pier-486", "ram edo").data["workloads"][0]
    assert row["workload"] == "w2"
    assert row["step_pct"] == pytest.approx(100 * 0.1 / 23.4, rel=0.02)
    assert row["seen"] is False
    lost = bench("swap", "pier-486", "l2 off").data["workloads"][0]
    assert lost["seen"] is True
    assert lost["score_change_pct"]["value"] < -row["step_pct"]


def test_a_slower_tag_costs_by_the_hit_path_and_the_write_cycle(bench: Bench) -> None:
    data = pier(bench)("swap", "pier-486", "tag 25 ns").data
    assert data["hit_then"] == data["hit_now"]
    assert data["then"]["store_clocks"][0] > data["now"]["store_clocks"][0]
    assert data["score_change_pct"]["value"] < 0


def test_ways_and_a_profile_of_ones_choice(bench: Bench) -> None:
    pier(bench)
    data = bench("swap", "pier-486", "l2 256k", "--ways", "2", "--like", "render").data
    assert data["then"]["ways"] == 2
    assert data["then"]["l2_banks"] == 2
    assert data["now"]["read"]["clocks"] == data["then"]["read"]["clocks"]
    assert bench.refused("swap", "pier-486", "l2 off", "--like", "nothing").codes == ["profile_unknown"]


def test_a_sweep_gives_the_clocks_where_no_pattern_is_known(bench: Bench) -> None:
    bench.board((BOARD % ("", 16, "a")).replace('cache_read = "2-1-1-1"', 'cache_read = "?"'))
    guessed = bench("swap", "pier-486", "l2 off").data["now"]
    sweep = "4K 10.2us/KB, 8K 10.2, 16K 26.1, 64K 26.0, 256K 26.2, 512K 36.3, 1024K 36.2"
    bounds = bench("sweep", "pier-486", sweep).data["narrows"]
    known = bench("swap", "pier-486", "l2 off").data["now"]
    assert known["read"]["clocks"] == bounds["cache_fill_clocks"] != guessed["read"]["clocks"]
    assert known["memory"]["clocks"] == bounds["memory_fill_clocks"]


def test_nothing_is_stored_and_it_reads_as_words(bench: Bench) -> None:
    pier(bench)
    before = bench("state", "pier-486").json["head"]
    page = run("swap", "pier-486", "l2 4x128k8-20")
    assert page.code == 0
    for words in ("now", "then", "256 KB, 2 banks", "512 KB, 1 bank", "it does not pay", "28 min in all"):
        assert words in page.out
    assert bench("state", "pier-486").json["head"] == before


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("bus 33", "not_cache_or_memory"),
        ("l2 256k", "no_change"),
        ("l2 500k", "cache_size"),
        ("l2 512", "ask"),
        ("l2 256k 3 banks", "cache_banks"),
    ],
)
def test_what_is_no_change_of_cache_or_memory(bench: Bench, words: str, code: str) -> None:
    assert code in pier(bench).refused("swap", "pier-486", words).codes


def test_a_board_without_a_bus_clock_is_told_what_to_do(bench: Bench) -> None:
    bench.board((BOARD % ("", 16, "b")).replace('JP1 = "b"\n', ""))
    answer = bench.refused("swap", "pier-486", "l2 4x128k8-20")
    assert answer.codes == ["clocks_unknown"]
    assert "leadoff move" in answer.json["errors"][0]["do"]
