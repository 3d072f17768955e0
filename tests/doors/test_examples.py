"""The examples in the help are what they claim: each is understood on a board made for them."""

from __future__ import annotations

import re
import shlex

import click
import pytest

from cli_bench import Bench
from leadoff.doors.cli.main import group

BOARD = """
[board]
id = "blue-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = 5.0 }, { v = 3.45 }]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b", "c", "d"]
sets = { bus_mhz = { a = 25, b = 33, c = 40, d = 50 } }
[[jumper]]
id = "JP7"
positions = ["1-2", "2-3"]
sets = { vlb_ws = { "1-2" = 0, "2-3" = 1 } }
[[jumper]]
id = "JP9"
positions = ["open", "closed"]
sets = { ratio = { open = 3, closed = 2 } }
[fitted]
cpu = "A80486DX4-100"
[now]
JP1 = "b"
JP7 = "1-2"
JP9 = "open"
"""
VERBS = ("state", "move", "log", "card", "forecast", "now", "why")


def examples() -> list[str]:
    out: list[str] = []
    context = click.Context(group)
    for verb in VERBS:
        command = group.get_command(context, verb)
        assert command is not None
        out += re.findall(r"^\s*leadoff (.+)$", (command.help or "").split("Example", 1)[1], re.MULTILINE)
    return out


@pytest.mark.parametrize("example", examples())
def test_an_example_of_the_help_is_understood(bench: Bench, example: str) -> None:
    bench.board(BOARD)
    bench("log", "blue-486", "w2 23.5 frames/s")
    bench("log", "blue-486", "w3 41.2s")
    numbers = {"38": "1", "41": "3"}
    bench("log", "blue-486", "w2 23.7 frames/s")
    words = [
        re.sub(r"\b(38|41)\b", lambda m: numbers[m[0]], w) if "41.2" not in w else w
        for w in shlex.split(example)
    ]
    answer = bench.try_(*words)
    assert answer.code in (0, 1), answer.err
    if answer.code == 1:  # understood, and refused by the wiring of this board
        assert not {"ask", "usage", "not_a_move", "not_a_state", "run_unknown"} & set(answer.codes), (
            answer.out
        )
