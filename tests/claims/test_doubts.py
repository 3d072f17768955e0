"""Slips are asked about and never changed: entered twice, clocks that do not multiply, scores far out."""

from __future__ import annotations

import dataclasses
import sys
import tempfile
from collections import Counter
from fractions import Fraction
from pathlib import Path

import msgspec
import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "validation"))

from claims_books import World, ledger, world
from claims_slips import EACH, Slips, look

from cli_bench import Bench
from leadoff.claims.doubts import doubts
from leadoff.claims.values import Ledger
from leadoff.loop.demo import demo_session, write_world
from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.validation.worlds import World as WorldOfBoards

FERRY = Path(__file__).parents[2] / "examples" / "ferry-486.toml"


@pytest.fixture(scope="module")
def made() -> World:
    return world(3)


def book_of_world(made: WorldOfBoards) -> Ledger:
    """A generated book, written and read back."""
    with tempfile.TemporaryDirectory() as folder:
        session = demo_session(Path(folder), None)
        write_world(session, made)
        book = ledger_of(read_history(session), session.book.is_before)
        session.close()
    return book


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


def test_a_run_unlike_the_others_of_its_state_is_asked_about_without_a_large_book(bench: Bench) -> None:
    bench.board(FERRY.read_text(encoding="utf-8"))
    bench("log", "ferry-486", "w2 19.4 19.5 frames/s")
    slip = bench("log", "ferry-486", "w2 195").data["doubts"]
    assert [d["kind"] for d in slip] == ["stands_out"]
    assert "decimal point" in slip[0]["do"]
    assert "leadoff undo 2" in slip[0]["do"]
    # The run that was right is not accused by the slip before it.
    assert bench("log", "ferry-486", "w2 19.6").data["doubts"] == []
    bench("move", "ferry-486", "bus 50")
    assert bench("log", "ferry-486", "w2 29.1").data["doubts"] == []
    assert [d["run"] for d in bench("standings").data["doubts"]] == ["2"]
    assert len(bench("undo", "run", "2").data["undone"]) == 1
    assert bench("standings").data["doubts"] == []


@pytest.mark.parametrize("seed", [900, 901])
def test_a_small_book_of_mixed_boards_is_not_accused_and_a_slip_in_it_is_found(seed: int) -> None:
    """Ten boards of several classes with five runs each: most workloads were run on few of them."""
    book = book_of_world(WorldOfBoards(seed, boards=10, runs=5))
    assert [d for d in doubts(book) if d.kind == "stands_out"] == []
    scored = [t for t in book.trials if t.readings]
    most = Counter(t.workload for t in scored).most_common(1)[0][0]
    trial = next(t for t in scored if t.workload == most)
    run = trial.observed.run
    slow = tuple(
        msgspec.structs.replace(r, value=r.value / 9, lo=r.lo / 9, hi=r.hi / 9) for r in run.readings
    )
    typed = msgspec.structs.replace(
        trial,
        observed=msgspec.structs.replace(trial.observed, run=msgspec.structs.replace(run, readings=slow)),
    )
    wrong = msgspec.structs.replace(book, trials=tuple(typed if t is trial else t for t in book.trials))
    assert trial.number in {d.run for d in doubts(wrong) if d.kind == "stands_out"}
