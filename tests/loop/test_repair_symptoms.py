"""A repair names the oddities that are to be looked for again; nothing but a look closes them."""

from __future__ import annotations

from cli_bench import Bench

BOARD = """
[board]
id = "pier-486"
class = "486vlb"
buses = ["vlb", "isa"]
rails_v = [5.0]
[fitted]
cpu = "486dx2-66-5v"
"""


def test_a_repair_lists_what_to_look_for_again_and_closes_nothing(bench: Bench) -> None:
    bench.board(BOARD)
    bench("log", "pier-486", "clock stops")
    assert "still open on this board: clock stops" in bench("sick", "pier-486").marks("note")["open_symptoms"]
    told = bench("sick", "pier-486", "replaced the coin cell").marks("note")["test_again"]
    assert "look again for: clock stops" in told
    assert 'leadoff log pier-486 "clock stops gone"' in told
    assert "open_symptoms" in bench("sick", "pier-486").marks("note")
    bench("log", "pier-486", "clock stops gone")
    assert "open_symptoms" not in bench("sick", "pier-486").marks("note")


def test_failed_runs_since_it_held_are_findings_and_the_others_are_told(bench: Bench) -> None:
    """What was logged needs no second telling; what says nothing to a test, or is a limit, is named as not used."""
    bench.board(BOARD)
    bench("log", "pier-486", "w2 19.6 frames/s")
    plain = bench("sick", "pier-486")
    assert "faults.from_runs" not in plain.marks("note")
    bench("log", "pier-486", "no video 3 beeps")
    logged = bench("sick", "pier-486")
    assert "run 2 (no video 3 beeps)" in logged.marks("note")["faults.from_runs"]
    said = bench("sick", "pier-486", "no video 3 beeps")
    assert "faults.from_runs" not in said.marks("note")
    assert logged.data["explanations"] == said.data["explanations"]
    assert logged.data["explanations"] != plain.data["explanations"]
    bench("log", "pier-486", "starts 3/5 cold")
    assert "run 3 (starts 3/5 cold)" in bench("sick", "pier-486").marks("note")["faults.runs_not_used"]
    bench("log", "pier-486", "w2 19.6 frames/s")
    assert "faults.from_runs" not in bench("sick", "pier-486").marks("note")


def test_a_repair_sets_aside_what_was_logged_before_it_and_not_what_came_after(bench: Bench) -> None:
    """The same facts, logged or said, in the same order, mean the same."""

    def causes(board: str, verb: str) -> list[object]:
        bench.board(BOARD.replace("pier-486", board))
        out: list[object] = []
        for how, line in (
            (verb, "no video 3 beeps"),
            ("sick", "repaired the memory socket"),
            (verb, "no video"),
        ):
            bench(how, board, line)
            found = bench("sick", board).data
            out.append([(x["fault"], x["p_cause"]) for x in found["explanations"]])
        return out

    logged, said = causes("pier-486", "log"), causes("quay-486", "sick")
    assert logged == said
    assert logged[0] != logged[1]


def test_a_failure_beyond_a_rating_is_a_limit_and_no_fault(bench: Bench) -> None:
    bench.board(BOARD)
    bench("move", "pier-486", "bus 50 x2")
    bench("log", "pier-486", "no video 3 beeps")
    marks = bench("sick", "pier-486").marks("note")
    assert "faults.from_runs" not in marks
    assert "beyond a rating: a limit, no fault" in marks["faults.runs_not_used"]


def test_never_crashed_without_a_soak_says_that_nothing_failed_and_that_none_backs_it(bench: Bench) -> None:
    bench.board(BOARD)
    bench("log", "pier-486", "w2 19.6 frames/s")
    told = bench("claim", "The pier-486 never crashed.").data["sentences"][0]
    assert told["verdict"] == "untested"
    assert 'nothing failed so far, and no passed soak backs "never"' in told["why"]
    bench("log", "pier-486", "soak 8h ok")
    assert bench("claim", "The pier-486 never crashed.").data["sentences"][0]["verdict"] == "supported"
