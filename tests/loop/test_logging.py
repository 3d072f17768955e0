"""log and forecast: repeats, failures that are never numbers, new workloads, sealed forecasts and their bands."""

from __future__ import annotations

import pytest

from cli_bench import Bench

BOARD = """
[board]
id = "reed-486"
class = "486-vlb"
buses = ["vlb", "isa"]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b", "c"]
sets = { bus_mhz = { a = 25, b = 33, c = 40 } }
[fitted]
cpu = "A80486DX2-66"
[now]
JP1 = "b"
"""


@pytest.fixture
def reed(bench: Bench) -> Bench:
    bench.board(BOARD)
    return bench


def test_repeats_in_one_go_are_one_run(reed: Bench) -> None:
    run = reed("log", "reed-486", "w2 23.5 23.6 23.4 frames/s").data["run"]
    assert [r.split()[0] for r in run["readings"]] == ["23.5", "23.6", "23.4"]
    assert run["outcome"] == "repeats"
    assert run["score"]["value"] == pytest.approx(23.5)
    assert (run["score"]["unit"], run["score"]["source"]) == ("frames/s", "measured")


def test_a_dropped_reading_does_not_count(reed: Bench) -> None:
    run = reed("log", "reed-486", "w2 19.0 23.5 23.6 frames/s drop 1st").data["run"]
    assert run["score"]["value"] == pytest.approx(23.55)


@pytest.mark.parametrize(
    ("words", "value", "unit"),
    [("w2 23,5 frames/s", 23.5, "frames/s"), ("w3 41.2s", 41.2, "s"), ("w3 1:02.4", 62.4, "s"),
     ("w4 9.8 MB/s", 9.8, "MB/s")],
)  # fmt: skip
def test_units_and_decimal_commas(reed: Bench, words: str, value: float, unit: str) -> None:
    run = reed("log", "reed-486", words).data["run"]
    assert run["score"]["value"] == pytest.approx(value)
    assert run["score"]["unit"] == unit


def test_a_new_workload_is_kept_with_its_direction_and_said(reed: Bench) -> None:
    assert "lower is better" in reed("log", "reed-486", "zip 41.2s").marks("note")["new_workload"]
    assert "higher is better" in reed("log", "reed-486", "w2 23.5 frames/s").marks("note")["new_workload"]
    assert "new_workload" not in reed("log", "reed-486", "zip 40.9s").marks()


def test_raw_counters(reed: Bench) -> None:
    run = reed("log", "reed-486", "w2 2134 frames 4261 ticks/70").data["run"]
    assert run["score"]["value"] == pytest.approx(2134 / (4261 / 70), rel=1e-3)


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("hang memcount", ("starts", "boots", "fails_mid_run", "no_start")),
        ("starts 3/5 cold", ("starts",)),
        ("no video 3 beeps", ("no_start",)),
        ("reboot 3:20", ("fails_mid_run",)),
        ("smoke", ("no_power", "no_start")),
    ],
)
def test_a_failure_is_an_outcome_never_a_number(reed: Bench, words: str, outcome: tuple[str, ...]) -> None:
    answer = reed("log", "reed-486", words)
    run = answer.data["run"]
    if run is None:  # kept as a symptom: then it is open
        assert reed("state", "reed-486").data["open_symptoms"]
        return
    assert run["outcome"] in outcome
    assert run["score"]["value"] is None
    assert run["score"]["source"] == "undefined"
    assert run["score"]["why"]


def test_a_blank_is_not_a_zero(reed: Bench) -> None:
    reed("log", "reed-486", "w2 23.5 frames/s")
    before = reed.entries()
    for words in ("w2", "w2 -", "w2 n/a", "23.5 24.1 w9?", ""):
        answer = reed.try_("log", "reed-486", words)
        assert answer.code in (0, 1), words
        run = answer.data.get("run") if answer.code == 0 else None
        assert run is None or run["score"]["value"] != 0, words
    assert reed.entries() >= before


def test_a_bare_number_is_asked_about_when_two_workloads_could_own_it(reed: Bench) -> None:
    reed("log", "reed-486", "w2 23.5 frames/s")
    reed("log", "reed-486", "w3 24.5 frames/s")
    before = reed.entries()
    assert reed.refused("log", "reed-486", "23.9").codes == ["ask"]
    assert reed.entries() == before
    assert reed("log", "reed-486", "--workload", "w3", "23.9").data["run"]["workload"] == "w3"


def test_a_doubt_in_one_line_stores_none_of_them(reed: Bench) -> None:
    reed("log", "reed-486", "w2 23.5 frames/s")
    before = reed.entries()
    assert reed.refused("log", "reed-486", "--stdin", stdin="w2 23.6\nw2 23.7 parsecs\n").codes
    assert reed.entries() == before


def test_lines_from_standard_input(reed: Bench) -> None:
    found = reed("log", "reed-486", "--stdin", stdin="w2 23.5 frames/s\n\nw2 23.6\nhang memcount\n").data
    assert [r["number"] for r in found["runs"]] == ["1", "2", "3"]
    assert found["runs"][2]["score"]["value"] is None


def test_state_words_in_a_log_line_count_for_that_run(reed: Bench) -> None:
    reed("log", "reed-486", "bus 40, w2 27.9 frames/s")
    assert reed("state", "reed-486").data["settings"]["bus_mhz"]["value"] == 40


def test_each_state_of_several_lines_counts_for_its_own_runs(reed: Bench) -> None:
    reed("log", "reed-486", "--stdin", stdin="bus 25, w2 17.6 frames/s\nbus 40, w2 27.9\n")
    found = reed("why", "1", "2").data
    assert {f["factor"] for f in found["factors"]} | {n for g in found["cannot_tell"] for n in g["factors"]}
    assert found["ratio_pct"]["value"] == pytest.approx(58.5, abs=0.2)


def test_rig_is_kept(reed: Bench) -> None:
    run = reed("log", "reed-486", "w2 23.5 frames/s", "--rig", "card A, plain disk").data["run"]
    assert run["rig"] == "card A, plain disk"


class TestForecast:
    @pytest.fixture
    def known(self, reed: Bench) -> Bench:
        reed("log", "reed-486", "w2 23.5 23.6 frames/s")
        reed("move", "reed-486", "bus 25")
        reed("log", "reed-486", "w2 17.7 17.6")
        return reed

    def test_it_is_sealed_before_the_run_and_scored_after(self, known: Bench) -> None:
        sealed = known("forecast", "reed-486", "--want", "bus 40", "--model", "clocks").data
        assert sealed["entry"]
        assert sealed["number"] == "f1"
        (w2,) = sealed["workloads"]
        assert w2["lower"] == pytest.approx(w2["median"], rel=5e-3)  # core and bus scale together here
        assert w2["upper"] == pytest.approx(w2["median"], rel=5e-3)
        lo50, hi50 = w2["band50"]
        lo90, hi90 = w2["band90"]
        assert lo90 <= lo50 <= w2["median"] <= hi50 <= hi90
        assert w2["median"] == pytest.approx(28.2, rel=0.05)
        known("move", "reed-486", "bus 40")
        found = known("log", "reed-486", f"w2 {w2['median']:.1f}").data["forecast"]
        assert found["entry"] == sealed["entry"]
        assert (found["sealed_before"], found["in50"], found["in90"]) == (True, True, True)

    def test_a_result_outside_the_band_is_said(self, known: Bench) -> None:
        known("forecast", "reed-486", "--want", "bus 40", "--model", "clocks")
        known("move", "reed-486", "bus 40")
        answer = known("log", "reed-486", "w2 12.0")
        assert answer.data["forecast"]["in90"] is False
        assert "outside_band" in answer.marks("amber")

    def test_a_forecast_for_another_state_is_not_scored(self, known: Bench) -> None:
        known("forecast", "reed-486", "--want", "bus 40")
        answer = known("log", "reed-486", "w2 17.6")
        assert answer.data["forecast"] is None
        assert "forecast_other_state" in answer.marks("note")

    def test_every_workload_of_a_line_is_held_against_its_forecast(self, known: Bench) -> None:
        known("log", "reed-486", "pack 40.0 s")
        known("forecast", "reed-486", "--want", "bus 40", "--model", "clocks")
        known("move", "reed-486", "bus 40")
        answer = known("log", "reed-486", "w2 12.0, pack 25.0 s")
        found = {f["workload"]: f["in90"] for f in answer.data["forecasts"]}
        assert found == {"w2": False, "pack": True}
        assert "outside_band" in answer.marks("amber")

    def test_a_rig_that_holds_from_now_on_is_said_once(self, known: Bench) -> None:
        assert "card B" in known("log", "reed-486", "w2 17.6", "--rig", "card B").marks("note")["rig"]
        again = known("log", "reed-486", "w2 17.6")
        assert "rig" not in again.marks()
        assert again.data["run"]["rig"] == "card B"

    def test_a_new_name_that_is_nearly_a_known_one_is_asked_about(self, known: Bench) -> None:
        known("log", "reed-486", "maze 23.5")
        assert '"maze"' in known("log", "reed-486", "mase 23.7").marks("amber")["near_workload"]
        assert "near_workload" not in known("log", "reed-486", "w3 11.0").marks()
        assert "near_workload" not in known("log", "reed-486", "sieve 4.1 s").marks()

    def test_another_state_is_told_once_for_each_forecast(self, known: Bench) -> None:
        known("forecast", "reed-486", "--want", "bus 40")
        known("log", "reed-486", "w2 17.6")
        assert "forecast_other_state" not in known("log", "reed-486", "w2 17.5").marks("note")
        known("forecast", "reed-486", "--want", "bus 40")
        assert "forecast_other_state" in known("log", "reed-486", "w2 17.6").marks("note")

    def test_a_failed_run_is_neither_in_nor_out_of_a_band(self, known: Bench) -> None:
        known("forecast", "reed-486", "--want", "bus 40")
        known("move", "reed-486", "bus 40")
        found = known("log", "reed-486", "w2 hang 3:20").data["forecast"]
        assert (found["in50"], found["in90"]) == (None, None)

    def test_only_looking_keeps_no_entry(self, known: Bench) -> None:
        before = known.entries()
        assert known("forecast", "reed-486", "--want", "bus 40", "--no-seal").data["entry"] is None
        known("state", "reed-486")
        known("card", "reed-486", "--want", "bus 40")
        known("now", "reed-486")
        known("why", "1", "2")
        assert known.entries() == before

    def test_a_guess_stands_beside_it(self, known: Bench) -> None:
        before = known.entries()
        known("forecast", "reed-486", "--want", "bus 40", "--guess", "w2 28.0")
        assert known.entries() == before + 2

    def test_a_result_seen_before_is_told(self, known: Bench) -> None:
        assert "result_seen" in known("forecast", "reed-486").marks("note")
        assert "result_seen" not in known("forecast", "reed-486", "--want", "bus 40").marks()

    def test_withdrawn_is_not_scored_and_stays_in_the_record(self, known: Bench) -> None:
        known("forecast", "reed-486", "--want", "bus 40")
        before = known.entries()
        assert known("undo").data["undone"][0]["how"] == "withdraw"
        assert known.entries() == before + 1
        known("move", "reed-486", "bus 40")
        assert known("log", "reed-486", "w2 28.0").data["forecast"] is None

    def test_now_proposes_moves_that_add_up_and_no_state_that_failed(self, known: Bench) -> None:
        found = known("now", "reed-486").data
        assert found["acts"]
        for act in found["acts"]:
            assert (
                0 <= act["chance_hold"] <= 1 if isinstance(act["chance_hold"], float) else act["chance_hold"]
            )
            assert [m["n"] for m in act["moves"]] == list(range(1, len(act["moves"]) + 1))
            assert act["why"]

    def test_an_empty_book_says_what_to_do_first(self, reed: Bench) -> None:
        assert "log a first run" in reed("now", "reed-486").data["stop"]
        assert "no_workload" in reed("forecast", "reed-486").marks("amber")
