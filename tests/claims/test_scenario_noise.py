"""Shared scenario B through the command line: within the noise, and the sentence said about it."""

from __future__ import annotations

import pytest

from cli_bench import Bench

BOARD = """
[board]
id = "kiln-slot1"
class = "slot1"
buses = ["pci", "agp", "isa"]
rails_v = [2.0]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 66, b = 100 } }
[[option]]
id = "casl"
choices = ["2", "3"]
label = "CAS latency"
sets = { cas = { "2" = 2, "3" = 3 } }
[fitted]
cpu = "slot1-400-2v0"
[now]
JP1 = "b"
casl = "3"
"""


@pytest.fixture
def kiln(bench: Bench) -> Bench:
    bench.board(BOARD)
    bench("log", "kiln-slot1", "w5 61.2 61.5 61.3 61.6 61.0 frames/s")
    bench("move", "kiln-slot1", "cas 2")
    bench("log", "kiln-slot1", "w5 61.6 61.3 61.8 61.4 61.5")
    return bench


def test_the_difference_is_not_shown_and_says_what_would_show_it(kiln: Bench) -> None:
    found = kiln("why", "1", "2").data
    assert found["difference"]["value"] == pytest.approx(0.20, abs=0.001)
    assert found["p95"] == pytest.approx([-0.12, 0.52], abs=0.02)
    assert found["verdict"] == "not_shown"
    assert 18 <= found["runs_each"] <= 20
    said = " ".join(found["advice"])
    assert "seconds" in said
    assert "A B B A" in said
    assert "one after the other" in said


def test_in_a_book_of_one_board_the_sentence_is_about_it(kiln: Bench) -> None:
    one, other = kiln("claim", "CL2 is faster. It makes no difference.").data["sentences"]
    assert one["verdict"] == other["verdict"] == "within_noise"
    assert "up to 0.84 % is possible" in other["would_be_true"]
    assert kiln("claim", "The moon is made of cheese.").data["sentences"][0]["verdict"] == "not_placed"


def test_with_a_second_board_nothing_is_guessed(kiln: Bench) -> None:
    kiln.board(BOARD.replace("kiln-slot1", "oven-slot1"), "oven.toml")
    kiln("log", "oven-slot1", "w5 60.2 60.5 60.3 60.6 60.0")
    kiln("move", "oven-slot1", "cas 2")
    kiln("log", "oven-slot1", "w5 63.6 63.3 63.8 63.4 63.5")
    assert kiln("claim", "CL2 is faster.").data["sentences"][0]["verdict"] == "not_placed"
