"""move, undo, back to: what was understood, what was kept, and the way back."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from cli_bench import Bench, settings

BOARD = """
[board]
id = "tide-s7"
class = "socket7"
buses = ["pci", "isa"]
rails = [{ v = 3.3, amps = 6 }, { v = 2.8, amps = 6 }]
sheet_confirmed = true
ratio_pins_wired = ["BF0", "BF1"]
dividers = { pci = "1/2", isa = "1/8" }
[[jumper]]
id = "JP1"
members = ["JP1A", "JP1B"]
positions = ["1-2 1-2", "2-3 1-2", "2-3 2-3"]
sets = { bus_mhz = { "1-2 1-2" = 50, "2-3 1-2" = 60, "2-3 2-3" = 66 } }
[[jumper]]
id = "JP2"
positions = ["oo", "co", "cc", "oc"]
sets = { ratio = { oo = "3/2", co = 2, cc = "5/2", oc = 3 } }
[[jumper]]
id = "JP5"
positions = ["1-2", "2-3"]
sets = { core_v = { "1-2" = 3.3, "2-3" = 2.8 } }
[[option]]
id = "l2_write_ws"
choices = ["0", "1"]
label = "Cache Write Wait"
menu = "Chipset"
[fitted]
cpu = "p54c-133-3v3"
[now]
JP1 = "2-3 2-3"
JP2 = "co"
JP5 = "1-2"
l2_write_ws = 1
"""


@pytest.fixture
def tide(bench: Bench) -> Bench:
    bench.board(BOARD)
    return bench


def now(bench: Bench) -> dict[str, object]:
    return settings(bench("state", "tide-s7").data)


def test_a_move_shows_before_and_after_and_the_exact_acts(tide: Bench) -> None:
    moved = tide("move", "tide-s7", "bus 60 x2.5").data
    assert settings(moved["before"])["bus_mhz"] == pytest.approx(200 / 3)
    assert settings(moved["after"])["bus_mhz"] == 60
    assert moved["after"]["clocks"]["core_mhz"]["value"] == 150
    whats = [m["what"] for m in moved["moves"]]
    assert "jp1b: from 2-3 to 1-2" in whats
    assert "jp2: from co to cc" in whats
    assert not any(w.startswith("jp1a") for w in whats)  # that member stays where it is
    assert moved["minutes"] == pytest.approx(sum(m["minutes"] for m in moved["moves"]))
    assert moved["entry"]


@pytest.mark.parametrize(
    ("words", "name", "value"),
    [("bus 60", "bus_mhz", 60), ("bus 60 MHz", "bus_mhz", 60), ("x1.5", "ratio", 1.5), ("jp2 cc", "ratio", 2.5),
     ("core 100", "ratio", 1.5), ("l2_write_ws 0", "l2_write_ws", 0), ("2 x 50", "bus_mhz", 50),
     ("jp1 ?", "bus_mhz", None)],
)  # fmt: skip
def test_words_people_type(tide: Bench, words: str, name: str, value: float | None) -> None:
    tide("move", "tide-s7", words)
    assert now(tide)[name] == value


def test_a_move_to_where_it_is_stores_nothing(tide: Bench) -> None:
    before = tide.entries()
    answer = tide("move", "tide-s7", "bus 66")
    assert "nothing_moved" in answer.marks("note")
    assert (answer.data["moves"], answer.data["entry"]) == ([], None)
    assert tide.entries() == before


def test_undo_restores_and_undo_again_goes_further_back(tide: Bench) -> None:
    first = now(tide)
    tide("move", "tide-s7", "bus 60")
    second = now(tide)
    tide("move", "tide-s7", "x3")
    assert tide("undo").data["undone"][0]["kind"] == "did"
    assert now(tide) == second
    tide("undo")
    assert now(tide) == first


def test_undo_never_cascades(tide: Bench) -> None:
    tide("move", "tide-s7", "bus 60")
    tide("log", "tide-s7", "w1 20.1 frames/s")
    tide("move", "tide-s7", "x3")
    moved = tide("book", "verify").data["entries"]
    entry = tide("log", "tide-s7", "w1 24.0").data["run"]["entry"]
    undone = tide("undo", "1")
    assert [u["kind"] for u in undone.data["undone"]] == ["run"]
    left = tide("state", "tide-s7").data
    assert [r["entry"] for r in left["runs"]] == [entry]
    assert settings(left)["bus_mhz"] == 60
    assert tide("book", "verify").data["entries"] == moved + 2  # nothing was erased


def test_undo_of_a_move_in_the_middle_leaves_the_later_one(tide: Bench) -> None:
    entry = tide("move", "tide-s7", "bus 60").data["entry"]
    tide("move", "tide-s7", "x3")
    tide("undo", entry[:12])
    assert (now(tide)["bus_mhz"], now(tide)["ratio"]) == (pytest.approx(200 / 3), 3)


@pytest.mark.parametrize("what", ["99", "zz", "0000000000"])
def test_undo_of_nothing_is_one_clear_error(tide: Bench, what: str) -> None:
    before = tide.entries()
    assert len(tide.refused("undo", what).codes) == 1
    assert tide.entries() == before


def test_back_to_a_run_and_as_a_run_but(tide: Bench) -> None:
    tide("log", "tide-s7", "w1 20.0 frames/s")
    there = now(tide)
    tide("move", "tide-s7", "bus 60 x3, l2_write_ws 0")
    tide("log", "tide-s7", "w1 24.0")
    answer = tide("move", "tide-s7", "back to 1")
    assert now(tide) == there
    assert len([m for m in answer.data["moves"] if m["what"].startswith("jp")]) == 2
    tide("move", "tide-s7", "as 2 but bus 50")
    found = now(tide)
    assert (found["bus_mhz"], found["ratio"], found["l2_write_ws"]) == (50, 3, 0)


def test_back_to_a_run_of_another_board_is_refused(tide: Bench) -> None:
    tide.board(BOARD.replace("tide-s7", "ebb-s7"), "other.toml")
    tide("log", "ebb-s7", "w1 20.0 frames/s")
    assert tide.refused("move", "tide-s7", "back to 1").codes in (["other_board"], ["ask"], ["run_unknown"])


def test_a_score_is_no_move(tide: Bench) -> None:
    before = tide.entries()
    assert tide.refused("move", "tide-s7", "hang memcount").codes in (["not_a_move"], ["ask"])
    assert tide.entries() == before


def test_moves_on_an_unconfirmed_sheet_say_so(bench: Bench) -> None:
    bench.board(BOARD.replace("sheet_confirmed = true", ""))
    assert "sheet_unconfirmed" in bench("move", "tide-s7", "bus 60").marks("amber")
    assert bench("state", "tide-s7").data["settings"]["bus_mhz"]["status"] == "assumed"


def test_a_part_of_other_volts_brings_its_jumper_along(tide: Bench) -> None:
    found = tide("card", "tide-s7", "--want", "cpu p55c-200-2v8 x3")
    whats = [m["what"] for m in found.data["moves"]]
    assert any(w.startswith("jp5: from 1-2 to 2-3") for w in whats)
    measured = next(n for n, w in enumerate(whats) if "socket empty" in w)
    assert measured < next(n for n, w in enumerate(whats) if w.startswith("processor: fit"))


def test_back_to_a_state_on_an_adapter(tide: Bench) -> None:
    tide("move", "tide-s7", "interposer 2.8v-straps x3 cpu p55c-200-2v8")
    there = now(tide)
    assert (there["ratio"], there["core_v"]) == (3, 2.8)
    tide("log", "tide-s7", "w1 24.0 frames/s")
    tide("move", "tide-s7", "interposer out cpu p54c-133-3v3")
    assert (now(tide)["ratio"], now(tide)["core_v"]) == (2, 3.3)
    tide("move", "tide-s7", "back to 1")
    assert now(tide) == there


_WORDS = st.sampled_from(["bus 50", "bus 60", "bus 66", "x1.5", "x2", "x2.5", "x3", "l2_write_ws 0", "l2_write_ws 1",
                          "jp2 oo", "jp1 2-3 1-2"])  # fmt: skip


@hypothesis_settings(
    max_examples=4,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(_WORDS, min_size=2, max_size=5))
def test_after_any_walk_back_to_a_run_is_the_state_of_that_run(tide: Bench, walk: list[str]) -> None:
    run = tide("log", "tide-s7", "w1 20.0 frames/s").data["run"]["number"]
    there = now(tide)
    for words in walk:
        tide("move", "tide-s7", words)
    tide("move", "tide-s7", f"back to {run}")
    assert now(tide) == there


def test_back_to_a_run_says_what_that_run_does_not_know(tide: Bench) -> None:
    tide("move", "tide-s7", "l2_write_ws ?")
    tide("log", "tide-s7", "w2 61.0 frames/s")
    tide("move", "tide-s7", "bus 60, l2_write_ws 0")
    told = tide("move", "tide-s7", "back to 1")
    assert "l2_write_ws 0" in told.marks("amber")["not_known_then"]
    assert now(tide)["l2_write_ws"] == 0
    tide("log", "tide-s7", "w2 61.2")
    tide("move", "tide-s7", "bus 60")
    assert "not_known_then" not in tide("move", "tide-s7", "back to 2").marks()


def test_a_part_and_a_temperature_need_no_jumper(tide: Bench) -> None:
    assert "by_hand" not in tide("move", "tide-s7", "cpu p54c-166-3v3 x2.5").marks()
    assert "by_hand" not in tide("log", "tide-s7", "w2 61.0 frames/s at 41 degrees").marks()


def test_a_card_tells_the_supply_that_is_set_from_those_that_could_be(tide: Bench) -> None:
    tide("move", "tide-s7", "cpu p55c-200-2v8, jp5 1-2")
    volts = [
        x for x in tide("card", "tide-s7").data["lines"] if x["topic"] in ("core_volts", "rail_amps", "heat")
    ]
    red = [x["why"] for x in volts if x["verdict"] == "red"]
    assert any("3.3 V" in why for why in red)
    other = [x["why"] for x in volts if "2.8 V is" in x["why"]]
    assert other
    assert all(why.startswith("if set to 2.8 V instead: ") for why in other)
    assert not any(why.startswith("if set to") for why in red)
