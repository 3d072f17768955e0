"""The list of an evening through the command line: moves from step to step, goals, and the end (invented board)."""

from __future__ import annotations

import pytest

from cli_bench import Bench, run

BOARD = """
[board]
id = "pier-486"
class = "486vlb"
buses = ["vlb", "isa"]
rails_v = [5.0]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b", "c"]
sets = { bus_mhz = { a = 25, b = 33, c = 40 } }
[[option]]
id = "wait"
choices = ["0", "1"]
sets = { l2_write_ws = { "0" = 0, "1" = 1 } }
[fitted]
cpu = "486dx2-66-5v"
cache = { kb = 256, ns = 15, banks = 2, chips = 8, tag_ns = 15, tag_bits = 8 }
memory = [{ site = "b0", mb = 16, type = "fpm", ns = 60 }]
[now]
JP1 = "a"
wait = "1"
"""

CARD = """
[[card]]
slot = "isa4"
bus = "isa"
kind = "disk"
master = true
dma = true
"""


@pytest.fixture
def pier(bench: Bench) -> Bench:
    bench.board(BOARD)
    bench("log", "pier-486", "w2 15.0 15.0 frames/s")
    return bench


def route(bench: Bench, *more: str) -> dict:  # type: ignore[type-arg]
    found: dict = bench("now", "pier-486", *more).data["route"]  # type: ignore[type-arg]
    return found


def test_each_step_starts_where_the_one_before_it_left_the_board(pier: Bench) -> None:
    made = route(pier, "--minutes", "150")
    runs = [s for s in made["steps"] if s["kind"] == "run"]
    assert runs
    at = {"jp1": "a", "wait": "1"}
    for step in runs:
        for move in step["moves"]:
            words = move["what"].replace('"', "").split()
            if "from" in words:
                name = "wait" if "set-up:" in words else words[0].rstrip(":")
                frm, to = words[words.index("from") + 1], words[words.index("to") + 1]
                assert at[name] == frm
                at[name] = to
        assert step["settings"].get("l2_write_ws", "1") == at["wait"]
    assert made["minutes"] <= 150
    assert [s["at_minute"] for s in made["steps"]] == sorted(s["at_minute"] for s in made["steps"])


def test_the_end_brings_the_best_to_the_grade_and_says_when_it_does_not_fit(pier: Bench) -> None:
    long = route(pier, "--minutes", "240", "--grade", "soaked_copy_clean")
    assert [s["kind"] for s in long["steps"][-4:]] == ["back", "repeat", "copy", "soak"]
    short = route(pier, "--minutes", "40", "--grade", "soaked")
    assert {s["kind"] for s in short["steps"]} == {"run"}
    assert "another evening" in short["stop"]


def test_making_the_record_sure_lists_what_its_state_lacks(pier: Bench) -> None:
    pier("move", "pier-486", "wait 0")
    made = route(pier, "--for", "record", "--grade", "soaked_copy_clean")
    assert [s["kind"] for s in made["steps"]] == ["back", "copy", "soak"]
    assert any("wait" in m["what"] for m in made["steps"][0]["moves"])
    pier("move", "pier-486", "wait 1")
    pier("log", "pier-486", "copy 60/60")
    pier("log", "pier-486", "soak 2 h ok")
    assert route(pier, "--for", "record", "--grade", "soaked_copy_clean")["steps"] == []


def test_symptoms_are_looked_for_again_one_after_the_other(pier: Bench) -> None:
    pier("log", "pier-486", "clock stops")
    made = route(pier, "--for", "symptoms")
    assert [s["kind"] for s in made["steps"]] == ["check"]
    assert "clock stops" in made["steps"][0]["what"]
    said = made["steps"][0]["why"].split('"')[1]
    pier("log", "pier-486", said)
    assert route(pier, "--for", "symptoms")["steps"] == []


def test_a_cause_asks_for_the_run_that_parts_two_changes(pier: Bench) -> None:
    pier("move", "pier-486", "jp1 b; wait 0")
    pier("log", "pier-486", "w2 20.0 20.0 frames/s")
    made = route(pier, "--for", "cause")
    assert [s["kind"] for s in made["steps"]] == ["run", "repeat"]
    assert "cannot be told apart yet" in made["steps"][0]["why"]
    assert "cache write wait states" in made["steps"][0]["why"]
    assert len(made["steps"][0]["moves"]) >= 1
    assert "leadoff why 1 2" in made["stop"]


def test_a_cause_is_never_looked_for_in_an_unsafe_state(bench: Bench) -> None:
    """Write-back without snooping beside a bus master (shared scenario C): no run may ask for it."""
    sheet = BOARD
    for old, new in (
        ("sheet_confirmed = true", "sheet_confirmed = true\nsnoop_line = false"),
        ("[fitted]", '[[option]]\nid = "l1_policy"\nchoices = ["wt", "wb"]\n' + CARD + "[fitted]"),
        ('cpu = "486dx2-66-5v"', 'cpu = "A80486DX2WB66"'),
        ('wait = "1"', 'wait = "1"\nl1_policy = "wb"'),
    ):
        sheet = sheet.replace(old, new, 1)
    bench.board(sheet)
    bench("log", "pier-486", "w2 15.0 15.0 frames/s")
    bench("move", "pier-486", "jp1 b; wb off; wait 0")
    bench("log", "pier-486", "w2 18.0 18.1")
    made = route(bench, "--for", "cause")
    for s in made["steps"]:
        assert not any("to wb" in m["what"] for m in s["moves"])
    assert made["steps"] or "unsafe" in made["stop"] or "no run would tell more" in made["stop"]


def test_an_hour_here_is_held_against_one_on_another_board(pier: Bench) -> None:
    pier.board(BOARD.replace("pier-486", "mole-486"), "mole.toml")
    alone = route(pier, "--minutes", "120")
    assert alone["other_board"] is None
    pier("log", "mole-486", "w2 15.0 15.0 frames/s")
    made = route(pier, "--minutes", "120")
    assert made["other_board"]["board"] == "mole-486"
    assert made["other_board"]["pct_per_hour"] > 0.0
    assert "mole-486" in made["stop"]


def test_every_board_of_the_book_is_looked_at_and_not_only_those_last_used(pier: Bench) -> None:
    """The untouched board was on the bench first; two that have nothing left to gain came after it."""
    for name in ("mole-486", "dune-486", "reef-486"):
        pier.board(BOARD.replace("pier-486", name), f"{name}.toml")
    pier("log", "mole-486", "w2 15.0 15.0 frames/s")
    for name in ("dune-486", "reef-486"):
        pier("move", name, "jp1 c; wait 0")
        pier("log", name, "w2 24.0 24.1 frames/s")
    made = route(pier, "--minutes", "120")
    assert made["other_board"]["board"] == "mole-486"


def test_the_soak_of_the_best_comes_before_crumbs(pier: Bench) -> None:
    """At the fastest setting nothing is left but crumbs: the list is what the record lacks of the grade."""
    pier("move", "pier-486", "jp1 c; wait 0")
    pier("log", "pier-486", "w2 24.0 24.1 frames/s")
    made = route(pier, "--minutes", "200", "--grade", "soaked")
    assert [s["kind"] for s in made["steps"]] == ["soak"]
    assert "ask again afterwards" in made["stop"]
    pier("log", "pier-486", "soak 2 h ok")
    made = route(pier, "--minutes", "200", "--grade", "soaked")
    assert "soak" not in [s["kind"] for s in made["steps"][:1]]


def test_a_careful_list_leaves_out_what_runs_beyond_its_rating(pier: Bench) -> None:
    fast, safe = route(pier, "--minutes", "200"), route(pier, "--minutes", "200", "--for", "safe")
    clocks = {s["settings"].get("bus_mhz") for s in safe["steps"] if s["kind"] == "run"}
    assert "40" not in clocks
    assert "100/3" in clocks
    assert {s["settings"].get("bus_mhz") for s in fast["steps"] if s["kind"] == "run"} >= {"40"}


def test_the_list_reads_like_a_list(pier: Bench) -> None:
    said = run("now", "pier-486", "--minutes", "120").out
    assert "a list for 120 min" in said
    assert "  1. 0:00  " in said
    assert "in all:" in said
    assert "when to stop:" in said


def test_where_nothing_safe_gains_the_best_safe_state_is_proved_and_the_nearest_is_named(pier: Bench) -> None:
    """The board runs beyond its rating already: what is safe is held against the best safe score."""
    pier("move", "pier-486", "jp1 c; wait 0")
    pier("log", "pier-486", "w2 23.0 23.1 frames/s")
    made = route(pier, "--minutes", "200", "--for", "safe")
    runs = [s for s in made["steps"] if s["kind"] == "run"]
    assert runs
    assert all(s["settings"].get("bus_mhz") == "100/3" for s in runs)
    pier("move", "pier-486", "jp1 b; wait 0")
    pier("log", "pier-486", "w2 20.0 20.1")
    made = route(pier, "--minutes", "200", "--for", "safe")
    assert [s["kind"] for s in made["steps"]] == ["soak"]
    assert "no faster state is free of warnings and likely to hold. Nearest: " in made["stop"]
    assert "rated for 66.67 MHz" in made["stop"]
    pier("log", "pier-486", "soak 2 h ok")
    made = route(pier, "--minutes", "200", "--for", "safe")
    assert made["steps"] == []
    assert "nothing is lacking of soaked" in made["stop"]
