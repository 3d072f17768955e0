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
