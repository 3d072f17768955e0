"""Slips are asked about and never changed: entered twice, clocks that do not multiply, scores far out."""

from __future__ import annotations

import dataclasses
import sys
from fractions import Fraction
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "validation"))

from claims_books import World, ledger, world
from claims_slips import EACH, Slips, look

from cli_bench import Bench
from leadoff.claims.doubts import doubts

FERRY = Path(__file__).parents[2] / "examples" / "ferry-486.toml"


@pytest.fixture(scope="module")
def made() -> World:
    return world(3)


def test_planted_slips_are_found_and_nothing_is_left_out(made: World) -> None:
    tally = Slips()
    look(made, 3, tally)
    assert sum(tally.planted.values()) == 3 * EACH
    assert sum(tally.found.values()) >= 3 * EACH - 1
    assert tally.alarms <= 0.01 * tally.clean
    assert tally.deleted == 0


def test_a_clean_book_raises_no_question_about_a_run(made: World) -> None:
    assert [d for d in doubts(ledger(made)) if d.kind != "no_record_adjusted"] == []


def test_every_doubt_names_the_run_and_what_to_do(made: World) -> None:
    wrong = dataclasses.replace(made.runs[200], core_mhz=Fraction(made.runs[200].settings["bus_mhz"]) * 5)
    book = ledger(World((*made.runs[:200], wrong, *made.runs[201:]), made.effects))
    found = [d for d in doubts(book) if d.kind == "clocks_disagree"]
    assert [d.run for d in found] == ["201"]
    assert "measure the bus clock" in found[0].do
    assert doubts(book, only=["5"]) == ()


def test_log_asks_at_once_and_keeps_the_run(bench: Bench) -> None:
    bench.board(FERRY.read_text(encoding="utf-8"))
    first = bench("log", "ferry-486", "w2 19.4 19.4 frames/s", "--at", "2027-03-01T19:00:00Z")
    assert first.data["doubts"] == []
    again = bench("log", "ferry-486", "w2 19.4 19.4", "--at", "2027-03-01T19:00:20Z")
    assert [d["kind"] for d in again.data["doubts"]] == ["entered_twice"]
    assert "leadoff undo" in again.data["doubts"][0]["do"]
    assert "entered_twice" in again.marks("amber")
    listed = bench("standings").data
    assert [d["run"] for d in listed["doubts"]] == ["2"]
    assert listed["groups"][0]["rows"][0]["runs"] == ["1", "2"]
    said = bench("claim", "Run 2 reads 19.4.").data
    assert [d["kind"] for d in said["doubts"]] == ["entered_twice"]


def test_a_later_run_with_the_same_readings_is_no_slip(bench: Bench) -> None:
    bench.board(FERRY.read_text(encoding="utf-8"))
    bench("log", "ferry-486", "w2 19.4 19.4 frames/s", "--at", "2027-03-01T19:00:00Z")
    later = bench("log", "ferry-486", "w2 19.4 19.4", "--at", "2027-03-01T19:04:00Z")
    assert later.data["doubts"] == []
