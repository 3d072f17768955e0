"""Comparability, ranks, what is kept out: on the invented book, and step by step through the command line."""

from __future__ import annotations

from typing import Any

import pytest

from cli_bench import Bench
from invented_boards import MILL
from leadoff.loop.session import Session
from leadoff.loop.standing import stand


def groups(bench: Bench, *args: str) -> dict[str, dict[str, Any]]:
    return {g["workload"]: g for g in bench("standings", *args).data["groups"]}


def test_an_unsafe_score_stays_out_of_clean_standings(bench: Bench) -> None:
    """Shared scenario C: 6.08 is kept, red, and stands in no ranking; 3 bad copies of 60 void the state."""
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    bench("move", "mill-486", "wb on")
    bench("log", "mill-486", "w1 6.08")
    answer = bench("standings")
    group = answer.data["groups"][0]
    assert [r["raw"] for r in group["rows"]] == [5.90]
    assert "not_soaked" in group["rows"][0]["flags"]
    assert [(k["score"], k["because"]) for k in group["kept_out"]] == [(6.08, ["unsafe"])]
    assert "kept_out_unsafe" in answer.marks("red")
    bench("log", "mill-486", "copy 57/60")
    kept = groups(bench)["w1"]["kept_out"][0]
    assert kept["because"] == ["unsafe", "bad_copies"]
    assert "5.0 % [1.0, 13.9]" in kept["grade_said"]


def test_a_soak_raises_the_grade_and_clean_copies_more(bench: Bench) -> None:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 5.90 frames/s")
    assert groups(bench)["w1"]["rows"][0]["grade"] == "repeats"
    bench("log", "mill-486", "soak 8h ok")
    assert groups(bench)["w1"]["rows"][0]["grade"] == "soaked"
    bench("log", "mill-486", "copy 60/60")
    row = groups(bench)["w1"]["rows"][0]
    assert row["grade"] == "soaked_copy_clean"
    assert "below 4.9 %" in row["grade_said"]
    bench("log", "mill-486", "soak 3h failed")
    assert groups(bench, "--grade", "soaked")["w1"]["rows"] == []


def test_a_state_that_failed_once_stands_nowhere(bench: Bench) -> None:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    bench("move", "mill-486", "bus 40")
    bench("log", "mill-486", "w1 6.9; hang w1")
    group = groups(bench)["w1"]
    assert [r["raw"] for r in group["rows"]] == [5.90]
    assert group["kept_out"][0]["because"] == ["failed"]


def two_cards(bench: Bench, *bridge: str) -> dict[str, Any]:
    """Two boards, a display card each; with a bridge the first board ran under both."""
    bench.board(MILL)
    bench.board(MILL.replace("mill-486", "weir-486"), "weir.toml")
    bench("log", "mill-486", "w1 5.90 5.91 frames/s", "--rig", "card a")
    for line in bridge:
        bench("log", "mill-486", line, "--rig", "card b")
    bench("log", "weir-486", "w1 9.10 9.11", "--rig", "card b")
    data: dict[str, Any] = bench("standings").data
    return data


def test_without_a_bridge_two_rigs_are_two_groups_and_the_bridge_is_named(bench: Bench) -> None:
    data = two_cards(bench)
    assert sorted(tuple(g["rigs"]) for g in data["groups"]) == [("card a",), ("card b",)]
    missing = data["not_comparable"][0]
    assert {missing["a"], missing["b"]} == {"card a", "card b"}
    assert "one board in one state that ran w1 with card" in missing["missing"]


def test_a_bridge_connects_them_like_for_like_where_both_ran_one_rig(bench: Bench) -> None:
    data = two_cards(bench, "w1 8.85 8.86")
    assert data["not_comparable"] == []
    group = data["groups"][0]
    assert group["rigs"] == ["card a", "card b"]
    weir, mill = group["rows"]
    assert (weir["board"], mill["board"]) == ("weir-486", "mill-486")
    assert (weir["rank_lo"], weir["rank_hi"], mill["adjusted"]) == (1, 1, False)


def test_seconds_are_carried_over_as_a_time_a_share_or_between(bench: Bench) -> None:
    """60 s with the one card are 50 s with the other: 40 s are then 30 s, or 33.3 s, or something between."""
    for name in ("mill-486", "weir-486", "loom-486"):
        bench.board(MILL.replace("mill-486", name), f"{name}.toml")
    bench("log", "mill-486", "w7 60.0 60.1 s", "--rig", "card a")
    bench("log", "mill-486", "w7 50.0 50.1 s", "--rig", "card b")
    bench("log", "loom-486", "w7 52.0 52.1 s", "--rig", "card b")
    bench("log", "weir-486", "w7 40.0 40.1 s", "--rig", "card a")
    group = groups(bench)["w7"]
    assert group["rig"] == "card b"
    assert [r["board"] for r in group["rows"]] == ["weir-486", "mill-486", "loom-486"]
    weir = group["rows"][0]
    assert weir["adjusted"]
    assert 30.0 < weir["score"]["value"] < 33.4
    assert weir["score"]["lo"] < 30.1
    assert weir["score"]["hi"] > 33.3
    assert weir["p_first"] > 0.95


def test_undoing_the_bridge_makes_the_adjustment_unknown_again(bench: Bench) -> None:
    two_cards(bench)
    entry = bench("log", "mill-486", "w1 8.85 8.86", "--rig", "card b").data["run"]["entry"]
    assert bench("standings").data["not_comparable"] == []
    bench("undo", entry)
    assert len(bench("standings").data["not_comparable"]) == 1


def test_the_invented_book(blind: Session) -> None:
    data = stand(blind).data
    corridor = [g for g in data["groups"] if g["workload"] == "corridor"]
    assert sorted(tuple(g["rigs"]) for g in corridor) == [("isa", "pci"), ("vlb",)]
    larch = next(r for g in corridor for r in g["rows"] if r["board"] == "larch")
    assert larch["adjusted"]
    # Runs 26 and 27: 17.4 17.4 17.5 and 24.9 24.9 25.0, one state of one board under two cards.
    # A card costs a share of the time or a time: one bridge leaves both, and all between.
    share, raw = 100 * (74.8 / 52.3 - 1), larch["raw"]
    fixed = 100 * (1 / (1 - raw * (3 / 52.3 - 3 / 74.8)) - 1)
    assert min(share, fixed) < larch["adjustment_pct"].value < max(share, fixed)
    assert larch["adjustment_pct"].lo < min(share, fixed)
    assert larch["adjustment_pct"].hi > max(share, fixed)
    assert larch["adjustment_pct"].refs == ("26", "27")
    assert larch["adjustment_pct"].hi - larch["adjustment_pct"].lo > 20
    scroll = next(g for g in data["groups"] if g["workload"] == "scroll")
    tied = {r["board"]: (r["rank_lo"], r["rank_hi"]) for r in scroll["rows"]}
    assert tied["elm"] == tied["cedar"] == (1, 2)
    assert tied["larch"] == (5, 5)
    for g in data["groups"]:
        assert sum(r["p_first"] for r in g["rows"]) == pytest.approx(1.0)


def test_a_workload_or_grade_that_does_not_exist_is_named(bench: Bench) -> None:
    bench.board(MILL)
    assert bench.refused("standings", "--workload", "nothing").codes == ["workload_unknown"]
    assert bench.refused("standings", "--grade", "gold").codes == ["grade_unknown"]
