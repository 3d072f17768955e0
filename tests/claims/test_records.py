"""The record over time: set, beaten, tied, vanished; and its picture."""

from __future__ import annotations

from typing import Any

from cli_bench import Bench, run
from invented_boards import MILL
from leadoff.loop.session import Session
from leadoff.loop.standing import stand
from leadoff.show.charts.record_steps import record_steps


def history(bench: Bench, *args: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = bench("standings", "--records", *args).data["records"][0]["steps"]
    return found


def log(bench: Bench, day: int, board: str, *words: str) -> None:
    bench("log", board, *words, "--rig", "card a", "--at", f"2030-03-{day:02d}T10:00:00Z")


def test_set_tied_beaten_vanished(bench: Bench) -> None:
    for n, name in enumerate(("mill-486", "weir-486", "lock-486")):
        bench.board(MILL.replace("mill-486", name), f"{n}.toml")
    log(bench, 1, "mill-486", "w1 5.90 5.90 5.91 frames/s")
    log(bench, 2, "weir-486", "w1 5.90 5.91 5.90")
    log(bench, 3, "lock-486", "w1 6.40 6.41 6.40")
    log(bench, 4, "lock-486", "soak 3h failed")
    steps = history(bench)
    assert [s["event"] for s in steps] == ["set", "tied", "beaten", "vanished"]
    assert [s["board"] for s in steps[:3]] == ["mill-486", "mill-486", "lock-486"]
    assert steps[3]["board"] in ("mill-486", "weir-486")
    assert "soak failed" in steps[3]["because"]
    assert [round(s["score"], 2) for s in steps] == [5.90, 5.90, 6.40, 5.90]
    assert "vanished" in run("standings", "--records").out


def test_a_higher_grade_is_asked_at_the_time(bench: Bench) -> None:
    bench.board(MILL)
    log(bench, 1, "mill-486", "w1 5.90 5.90 frames/s")
    assert bench("standings", "--records", "--grade", "soaked").data["records"][0]["steps"] == []
    log(bench, 5, "mill-486", "soak 8h ok")
    step = history(bench, "--grade", "soaked")[0]
    assert (step["event"], step["when"][:10]) == ("set", "2030-03-05")


def test_the_invented_book_ends_where_the_standings_do(blind: Session) -> None:
    data = stand(blind, records=True).data
    for line in data["records"]:
        group = next(
            g for g in data["groups"] if g["workload"] == line["workload"] and g["rigs"] == list(line["rigs"])
        )
        tied = {r["board"] for r in group["rows"] if r["rank_lo"] == 1}
        assert line["steps"][-1]["board"] in tied


def test_its_picture_holds_every_step(bench: Bench) -> None:
    bench.board(MILL)
    log(bench, 1, "mill-486", "w1 5.90 5.90 frames/s")
    log(bench, 2, "mill-486", "soak 3h failed")
    steps = history(bench)
    spec = record_steps(steps, title="w1", unit="frames/s")
    values = spec["data"]["values"]
    assert [v["event"] for v in values] == ["set", "vanished"]
    assert [v["score"] for v in values] == [steps[0]["score"], None]
    assert len(spec["layer"]) == 2
