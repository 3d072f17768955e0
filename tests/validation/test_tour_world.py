"""The tour's invented lot."""

from __future__ import annotations

import math
import tomllib

import pytest

from leadoff.record.entries import BoardBody, DidBody, FindingBody, RunBody, StateBody
from leadoff.record.runs import Outcome
from leadoff.validation.tour import TourWorld, tour_world


@pytest.fixture(scope="module")
def tour() -> TourWorld:
    return tour_world()


def test_six_boards_of_different_classes_one_dead(tour: TourWorld) -> None:
    assert len(tour.boards) == 6
    assert len({b.board_class for b in tour.boards}) == 6
    assert {b.sheet_confirmed for b in tour.boards} == {True, False}
    dead = [x.run for x in tour.log if x.board == tour.dead]
    assert dead
    assert all(r.outcome is Outcome.NO_START for r in dead)
    assert any(isinstance(b, FindingBody) and b.board == tour.dead for _, b in tour.events())
    assert all("nvented" in b.note for b in tour.boards)


def test_history_has_failures_repeats_and_unknowns(tour: TourWorld) -> None:
    assert 60 <= len(tour.log) <= 90
    outcomes = {x.run.outcome for x in tour.log}
    assert {Outcome.NO_START, Outcome.BOOTS, Outcome.FINISHES, Outcome.REPEATS} <= outcomes
    assert sum(bool(tour.unknown(b.id)) for b in tour.boards) >= 2
    assert sum(bool(x.wrong) for x in tour.log) == 1


def test_events_are_in_order_and_fold_to_the_declared_state(tour: TourWorld) -> None:
    times = [at for at, _ in tour.events()]
    assert times == sorted(times)
    declared: dict[str, dict[str, str | None]] = {}
    for _, body in tour.events():
        if isinstance(body, StateBody):
            declared[body.board] = {k: s.value for k, s in body.settings.items()}
        elif isinstance(body, DidBody):
            for change in body.changes:
                assert declared[body.board].get(change.name) == change.before
                declared[body.board][change.name] = change.after
        elif isinstance(body, RunBody):
            logged = next(x for x in tour.log if x.number == body.run.number)
            assert declared[body.run.board] == dict(logged.declared)
    for b in tour.boards:
        assert declared[b.id] == tour.declared(b.id)


def test_the_heart_has_an_untried_state_worth_trying(tour: TourWorld) -> None:
    tried = [dict(x.true) for x in tour.log if x.board == tour.heart]
    record = max(
        math.log(r.value)
        for x in tour.log
        if x.board == tour.heart and x.workload == "w4"
        for r in x.run.readings
    )
    base = tour.state(tour.heart)
    reach = tour.reach(tour.heart)
    one_or_two = [
        {**base, a: va, b: vb} for a in reach for va in reach[a] for b in reach for vb in reach[b] if a < b
    ]
    found = [s for s in one_or_two if s not in tried and s["bus_mhz"] == "40"]
    best = max(
        (t.score["w4"] or 0.0) for t in map(lambda s: tour.truth(tour.heart, s), found) if t.chance > 0.9
    )
    assert best > record + 0.03
    # and the tempting one does not start
    assert tour.truth(tour.heart, {"bus_mhz": "50", "isa_ratio": "1/6"}).hold is False


def test_board_files_parse_and_say_what_the_sheet_says(tour: TourWorld) -> None:
    for _, body in tour.events():
        if not isinstance(body, BoardBody):
            continue
        read = tomllib.loads(body.file_text)
        sheet = body.sheet
        assert read["board"]["id"] == sheet.id
        assert read["board"]["class"] == sheet.board_class
        assert {j["id"]: j["sets"] for j in read.get("jumper", [])} == {
            j.id: dict(j.sets) for j in sheet.jumpers
        }
        assert read["now"] == dict(sheet.now)
        assert tour.unknown(sheet.id) not in read["now"] or not tour.unknown(sheet.id)


def test_same_on_any_day() -> None:
    one, two = TourWorld(), TourWorld()
    assert one.events() == two.events()


def test_a_state_near_its_limit_starts_some_of_the_time(tour: TourWorld) -> None:
    counted = [x.run for x in tour.log if x.run.of is not None]
    assert len(counted) == 1
    run = counted[0]
    assert run.count is not None
    assert 0 < run.count < (run.of or 0)
    assert 0.05 < tour.truth(run.board, {}).chance < 0.98
    assert tour.attempts(tour.dead, {}, 5) == 0
    dead = tour.truth(tour.dead, {})
    assert not dead.hold
    assert set(dead.score.values()) == {None}
