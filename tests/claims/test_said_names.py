"""Settings, boards and workloads as the demo book has them. Wordings: common practice, no source."""

from __future__ import annotations

import pytest

from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.plain import plain
from leadoff.claims.spoken.settings import settle, wants_in
from leadoff.claims.spoken.values import Want
from leadoff.claims.values import Ledger

SAID = [
    ("without the cache write wait", ("l2_write_ws", "is", "0")),
    ("cache write wait states at 2", ("l2_write_ws", "is", "2")),
    ("the wait on cache reads", ("l2_read_ws", "any", "")),
    ("with the local bus wait in", ("vlb_ws", "over", "0")),
    ("local bus wait states at one", ("vlb_ws", "is", "1")),
    ("memory at 6-2-2-2", ("dram_read", "is", "6-2-2-2")),
    ("memory lead-off at four", ("dram_read", "lead", "4")),
    ("cache reads to 2-1-1-1", ("l2_read", "is", "2-1-1-1")),
    ("the refresh was slow", ("refresh", "is", "slow")),
    ("second-level cache on write-back", ("l2_policy", "is", "wb")),
    ("interleave off", ("interleave", "is", "off")),
    ("write combining on", ("write_combine", "is", "on")),
    ("row precharge at 3", ("rp", "is", "3")),
    ("with EDO memory", ("ram_type", "is", "edo")),
    ("60 ns memory", ("ram_ns", "is", "60")),
]


@pytest.mark.parametrize(("said", "test"), SAID)
def test_settings_by_their_names(said: str, test: tuple[str, str, str]) -> None:
    found: list[Want] = []
    wants_in(plain(said).low, lambda w: found.append(w) or "")
    assert [w.tests for w in found] == [(test,)]


def test_a_parity_error_is_no_setting() -> None:
    found: list[Want] = []
    wants_in(plain("a parity error").low, lambda w: found.append(w) or "")
    assert found == []


def test_what_has_no_name_of_its_own_is_what_the_board_has() -> None:
    states = [({"dram_read": "6-2-2-2", "l2_read": "3-1-1-1", "l2_policy": "wb"}, 133.3)]
    assert settle(Want("6-2-2-2", (("l2_read", "is", "6-2-2-2"),)), states).tests[0][0] == "dram_read"
    assert settle(Want("3-1-1-1", (("l2_read", "is", "3-1-1-1"),)), states).tests[0][0] == "l2_read"
    assert settle(Want("write-back", (("l1_policy", "is", "wb"),)), states).tests[0][0] == "l2_policy"
    # Said by name, it stays what it is although no state has it.
    assert settle(Want("l2 at 6-2-2-2", (("l2_read", "is", "6-2-2-2"),)), states).tests[0][0] == "l2_read"


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("The DX gets 2.9 frames a second in the flight.", "supported"),
        ("The foyer board needs 230.8 seconds for the packing with both waits at zero.", "supported"),
        ("The SX cannot run the coprocessor arithmetic.", "supported"),
        ("In the flight the 486 makes 10.9 frames a second.", "supported"),
        ("The Slot 1 is faster than the foyer board in w3.", "not_comparable"),
        ("On the foyer board dropping the read wait cut the packing time by a good fifth.", "contradicted"),
        ("Under twenty seconds, that's what the Socket 7 needs for the packing.", "untested"),
    ],
)
def test_the_book_of_the_tour(tour: Ledger, text: str, verdict: str) -> None:
    (found,) = Checker(tour).text(text)
    assert found.verdict == verdict, found.why
