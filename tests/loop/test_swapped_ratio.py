"""A ratio that was said for the part before is not carried over to one that reads its straps differently."""

from __future__ import annotations

import pytest

from cli_bench import Bench, settings

BOARD = """
[board]
id = "tide-s7"
class = "socket7"
buses = ["pci", "isa"]
rails = [{ v = 3.3, amps = 6 }, { v = 2.8, amps = 6 }]
sheet_confirmed = true
ratio_pins_wired = ["BF0", "BF1"]
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 60, b = 66 } }
[fitted]
cpu = "p54c-133-3v3"
[now]
JP1 = "b"
"""


@pytest.fixture
def tide(bench: Bench) -> Bench:
    bench.board(BOARD)
    return bench


@pytest.mark.parametrize(
    ("said", "then", "left"),
    [
        # Open ratio pins are 1.5 on the first parts of the socket and 3.5 on later ones (facts/timing.md).
        ("x1.5", "cpu p55c-200-2v8", None),
        ("x2", "cpu p55c-200-2v8", 2.0),
        ("x2", "cpu p54c-166-3v3", 2.0),
        ("x1.5", "cpu p55c-200-2v8 x3", 3.0),
    ],
)
def test_a_swap_keeps_the_ratio_only_where_the_straps_read_alike(
    tide: Bench, said: str, then: str, left: float | None
) -> None:
    tide("move", "tide-s7", said)
    moved = tide("move", "tide-s7", then)
    assert settings(tide("state", "tide-s7").data).get("ratio") == left
    told = moved.marks("note").get("ratio_not_known")
    assert (told is not None) == (left is None)
    if told is not None:
        assert "x1.5 was said with p54c-133-3v3 fitted; p55c-200-2v8 reads the same straps as x3.5" in told
