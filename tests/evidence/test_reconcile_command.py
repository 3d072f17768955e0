"""Conflicts as a person meets them: in ``read`` before adding, in ``state`` afterwards, gone after a move."""

from __future__ import annotations

import pytest

from cli_bench import Bench, run

BOARD = """
[board]
id = "quay-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = 3.3 }]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 25, b = 33 } }
[[jumper]]
id = "JP9"
positions = ["open", "closed"]
sets = { ratio = { open = 3, closed = 2 } }
[fitted]
cpu = "A80486DX4-100"
cache = { kb = 256, ns = 15, banks = 2, chips = 8, tag_ns = 15, tag_bits = 8 }
[now]
JP1 = "b"
JP9 = "open"
"""
DUMP = """CPUID 00000000 00000001 756E6547 6C65746E 49656E69
CPUID 00000001 00000480 00000000 00000000 00000009
core 66.71 MHz by the cycle counter
"""


@pytest.fixture
def quay(bench: Bench) -> Bench:
    bench.board(BOARD)
    bench("log", "quay-486", "w2 23.5 frames/s")
    bench("log", "quay-486", "w2 23.6")
    (bench.folder / "cpu.txt").write_text(DUMP, encoding="utf-8")
    return bench


def dump(bench: Bench) -> str:
    return str(bench.folder / "cpu.txt")


def test_read_shows_the_conflict_before_anything_is_added(quay: Bench) -> None:
    answer = quay("read", dump(quay), "--board", "quay-486")
    (conflict,) = answer.data["conflicts"]
    assert conflict["code"] == "core_clock"
    assert conflict["hypotheses"][0]["id"] == "ratio_jumper"
    assert "JP9" in conflict["hypotheses"][0]["check"].upper()
    assert [c["rank"] for c in conflict["claims"]] == ["declared", "timer"]
    assert answer.data["would_add"] > 0
    assert quay("state", "quay-486").data["conflicts"] == []


def test_state_marks_the_setting_and_the_runs_and_keeps_what_was_declared(quay: Bench) -> None:
    quay("read", dump(quay), "--board", "quay-486", "--yes")
    answer = quay("state", "quay-486")
    ratio = answer.data["settings"]["ratio"]
    assert (ratio["value"], ratio["status"]) == (3, "disputed")
    assert answer.data["clocks"]["core_mhz"]["source"] == "assumed"
    assert answer.data["runs_in_doubt"] == {"1": ["core_mhz", "ratio"], "2": ["core_mhz", "ratio"]}
    assert "disputed:ratio" in answer.data["runs"][0]["flags"]
    assert "conflict_core_clock" in answer.marks("amber")
    assert "runs_in_doubt" in answer.marks("amber")


def test_a_move_that_explains_it_ends_the_dispute(quay: Bench) -> None:
    quay("read", dump(quay), "--board", "quay-486", "--yes")
    quay("move", "quay-486", "JP9 closed")
    answer = quay("state", "quay-486")
    assert answer.data["conflicts"] == []
    assert answer.data["settings"]["ratio"]["status"] == "known"
    assert answer.data["clocks"]["core_mhz"]["value"] == pytest.approx(66.67, abs=0.01)


def test_only_runs_of_the_disputed_state_are_in_doubt(quay: Bench) -> None:
    quay("move", "quay-486", "JP1 a")
    quay("log", "quay-486", "w2 18.1")
    (quay.folder / "cpu.txt").write_text(DUMP.replace("66.71", "50.02"), encoding="utf-8")
    quay("read", dump(quay), "--board", "quay-486", "--yes")
    assert quay("state", "quay-486").data["runs_in_doubt"] == {"3": ["core_mhz", "ratio"]}


def test_undo_of_the_evidence_ends_the_dispute(quay: Bench) -> None:
    quay("read", dump(quay), "--board", "quay-486", "--yes")
    quay("undo")
    assert quay("state", "quay-486").data["conflicts"] == []


def test_a_sweep_kept_by_itself_counts_as_evidence(quay: Bench) -> None:
    points = [f"{2**k}K {10 if 2**k <= 16 else 38}us/KB" for k in range(12)]
    quay("sweep", "quay-486", ", ".join(points))
    (conflict,) = quay("state", "quay-486").data["conflicts"]
    assert conflict["code"] == "no_second_level"
    assert set(conflict["disputes"]) == {"l2", "l2_kb"}


def test_words_for_people(quay: Bench) -> None:
    answer = run("read", dump(quay), "--board", "quay-486")
    assert answer.code == 0
    assert "disputed  core clock: 100 MHz by the positions, 66.71 MHz" in answer.out
    assert "Check: look at" in answer.out
    assert "nothing was added: --yes adds" in " ".join(answer.out.split())
    assert len(answer.out.splitlines()) <= 25


def test_a_forecast_and_the_standings_say_that_the_state_is_disputed(quay: Bench) -> None:
    quay("read", dump(quay), "--board", "quay-486", "--yes")
    assert "ratio" in quay("forecast", "quay-486", "--no-seal").marks("amber")["state_disputed"]
    rows = [r for g in quay("standings").data["groups"] for r in g["rows"]]
    assert "disputed:ratio" in rows[0]["flags"]


@pytest.mark.parametrize(
    ("mhz", "pairs"),
    [("66.71", [(100 / 3, 2)]), ("74.98", [(25, 3)]), ("99.9", [(100 / 3, 3)]), ("120.1", [])],
)
def test_bus_clock_and_ratio_follow_from_a_timed_core(
    bench: Bench, mhz: str, pairs: list[tuple[float, float]]
) -> None:
    bench.board(BOARD.split("[now]")[0])
    file = bench.folder / "cpu.txt"
    file.write_text(DUMP.replace("66.71", mhz), encoding="utf-8")
    answer = bench("read", str(file), "--board", "quay-486", "--yes")
    found = [(p["bus_mhz"], p["ratio"]) for p in answer.data["inferred"]]
    assert found == [pytest.approx(p, rel=0.01) for p in pairs]
    assert mhz.rstrip("0") in answer.marks("note")["clocks_inferred"]
    assert bench("state", "quay-486").data["inferred"] == answer.data["inferred"]


def test_two_pairs_are_both_told(bench: Bench) -> None:
    board = BOARD.split("[now]")[0].replace("a = 25, b = 33", "a = 33, b = 50")
    bench.board(board)
    file = bench.folder / "cpu.txt"
    file.write_text(DUMP.replace("66.71", "100.1"), encoding="utf-8")
    said = bench("read", str(file), "--board", "quay-486").marks("note")["clocks_inferred"]
    assert "33.33 MHz x 3" in said
    assert "50 MHz x 2" in said
    assert "measuring the bus clock decides" in said
