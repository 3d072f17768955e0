"""Events as the book will get them, and the calibration of what happens in them."""

from __future__ import annotations

import time
from collections import Counter

import msgspec
import numpy as np
import pytest

from leadoff.record.entries import BoardBody, DidBody, RowBody, RunBody, StateBody
from leadoff.record.runs import Outcome
from leadoff.record.settings import SETTINGS, SettingKind
from leadoff.validation.worlds import World


@pytest.fixture(scope="module")
def book() -> World:
    return World(1, boards=40, runs=10, years=10.0, rigs=3)


def test_order_of_time_and_board_before_its_runs(book: World) -> None:
    times = [at for at, _ in book.events()]
    assert times == sorted(times)
    seen: set[str] = set()
    snapshots: set[str] = set()
    for _, body in book.events():
        if isinstance(body, BoardBody):
            seen.add(body.sheet.id)
        elif isinstance(body, StateBody):
            assert body.board in seen
            snapshots.add(body.board)
        elif isinstance(body, RunBody):
            assert body.run.board in snapshots
    assert len(snapshots) == 40


def test_folding_the_events_gives_the_declared_state(book: World) -> None:
    declared: dict[str, dict[str, str | None]] = {}
    runs = {x.number: x for x in book.log}
    for _, body in book.events():
        if isinstance(body, StateBody):
            declared[body.board] = {k: s.value for k, s in body.settings.items()}
        elif isinstance(body, DidBody):
            for change in body.changes:
                assert declared[body.board].get(change.name) == change.before, (body.board, change)
                declared[body.board][change.name] = change.after
        elif isinstance(body, RunBody):
            assert declared[body.run.board] == dict(runs[body.run.number].declared)
    for b in book.boards:
        assert declared[b.id] == book.declared(b.id)


def test_bodies_survive_the_bytes_of_the_book(book: World) -> None:
    kinds = {kind: 0 for kind in (BoardBody, DidBody, RowBody, RunBody, StateBody)}
    for _, body in book.events():
        data = msgspec.json.encode(body)
        assert msgspec.json.encode(msgspec.json.decode(data, type=type(body))) == data
        kinds[type(body)] += 1
    assert min(kinds.values()) > 0


def test_names_are_those_of_the_record(book: World) -> None:
    used = {n for x in book.log for n in x.true}
    assert used <= set(SETTINGS)
    for x in book.log:
        for name, value in x.true.items():
            kind = SETTINGS[name].kind
            if kind is SettingKind.SWITCH:
                assert value in ("on", "off"), name
            elif kind is SettingKind.POLICY:
                assert value in ("wt", "wb"), name
            elif kind is SettingKind.PATTERN:
                assert len(value.split("-")) == 4, name


def test_truth_and_declaration_differ_only_where_said(book: World) -> None:
    for x in book.log:
        differing = {n for n, v in x.declared.items() if v is not None and x.true[n] != v}
        assert differing == ({x.wrong} if x.wrong else set())
        unknown = {n for n, v in x.declared.items() if v is None}
        assert unknown <= {book.hidden_setting(x.board)}


def test_rates_of_what_nobody_said() -> None:
    worlds = [World(s, boards=40, runs=10) for s in range(40, 42)]
    wrong = np.mean([bool(x.wrong) for w in worlds for x in w.log])
    hidden = np.mean([bool(w.hidden_setting(b.id)) for w in worlds for b in w.boards])
    failed = np.mean([not x.run.outcome.held for w in worlds for x in w.log])
    assert 0.02 < wrong < 0.055
    assert 0.20 < hidden < 0.36
    assert 0.02 < failed < 0.20


def test_failures_carry_no_score_and_have_a_place(book: World) -> None:
    kinds = Counter(x.run.outcome for x in book.log)
    assert kinds[Outcome.FINISHES] > 100
    failed = [x.run for x in book.log if not x.run.outcome.held]
    assert len(failed) >= 8
    assert len({r.outcome for r in failed}) >= 3
    for run in failed:
        assert run.readings == ()
        assert run.place


def test_shares_of_the_time_are_those_of_the_trade(book: World) -> None:
    """Medians of the prototype's generator (leadoff's design notes): core 79, memory 8, cache 5, stores 0.3 (95th:
    8), write-back 0.6 (4), display 2 (11), fixed 0.2 (2) per cent. Ours need only be near; its write-through
    parts at high ratios pay more for stores, since its queue is held to the published cost of a wait state."""
    found: dict[str, list[float]] = {}
    for x in book.log:
        for part, share in book.shares(x.board, x.true)[x.workload].items():
            found.setdefault(part, []).append(100.0 * share)
    middle = {k: float(np.median(v)) for k, v in found.items()}
    high = {k: float(np.percentile(v, 95)) for k, v in found.items()}
    assert 74 < middle["core"] < 85
    assert 5 < middle["dram"] < 11
    assert 3.5 < middle["l2"] < 8
    assert 0.05 < middle["store"] < 2.0
    assert 4 < high["store"] < 28
    assert 0.3 < middle["writeback"] < 2.5
    assert 0.5 < middle["video"] < 4
    assert middle["fixed"] < 0.5


def test_scores_are_printed_at_the_resolution(book: World) -> None:
    resolution = {w.name: w.resolution for w in book.workloads}
    for x in book.log:
        for r in x.run.readings:
            steps = r.value / resolution[x.workload]
            assert abs(steps - round(steps)) < 1e-6
            assert r.lo < r.value < r.hi


def test_cut_off_scores_are_low_by_half_a_digit() -> None:
    world = World(9, boards=1, runs=2, classes=["386dx"], workloads=["w5", "w6"])
    board, state = world.boards[0].id, world.state(world.boards[0].id)
    true = float(np.exp(world.scores(board, [state])[0][0]))
    values = [world.measure(board, state, "w5", boot=k).readings[0].value for k in range(200)]
    assert -0.075 < np.mean(values) - true < -0.02  # 0.05, plus what boots, evenings and noise leave


def test_untried_states_are_new_and_hold(book: World) -> None:
    for b in book.boards[:10]:
        tried = [dict(x.true) for x in book.log if x.board == b.id]
        fresh = book.untried(b.id, 3)
        assert len(fresh) == 3
        for state in fresh:
            assert state not in tried
            assert book.truth(b.id, state).hold
            hidden = book.unknown(b.id)
            if hidden and state[hidden] == book.state(b.id)[hidden]:
                assert book.declare(b.id, state)[hidden] is None


def test_rigs_change_the_display_and_its_effect_is_physical(book: World) -> None:
    assert {x.rig for x in book.log} == {"rig-1", "rig-2", "rig-3"}
    b = next(b.id for b in book.boards if b.board_class == "486vlb" and b.cards[0].bus == "vlb")
    one, two = (book.truth(b, {}, rig=r).score for r in ("rig-1", "rig-2"))
    assert one["w1"] == two["w1"]
    assert one["w4"] is not None
    assert two["w4"] is not None
    assert one["w4"] > two["w4"]  # the second card is the slower one on the local bus


def test_other_physics_differs_and_has_heavier_tails() -> None:
    plain = World(2, boards=1, runs=2, classes=["386sx"])
    other = World(2, boards=1, runs=2, classes=["386sx"], physics="other")
    board, state = plain.boards[0].id, plain.state(plain.boards[0].id)
    assert not np.allclose(
        plain.scores(board, [state]), other.scores(board, [state]), rtol=1e-4, equal_nan=True
    )
    noise = np.array([other._bench.noise("tail", k) for k in range(4000)])
    kurtosis = float(np.mean(noise**4) / np.mean(noise**2) ** 2)
    assert kurtosis > 3.6
    assert 0.0021 < float(np.std(noise)) < 0.0030


def test_many_states_a_second() -> None:
    world = World(2, boards=1, runs=2, classes=["486vlb"])
    board = world.boards[0].id
    states = list(world.reachable(board, 2000))
    assert len(states) == 2000
    assert states[0] == {**world.state(board)}
    best = min(timed(world, board, states) for _ in range(3))
    assert 2000 / best > 2000


def timed(world: World, board: str, states: list[dict[str, str]]) -> float:
    begin = time.perf_counter()
    world.truths(board, states)
    return time.perf_counter() - begin


def test_bridges_link_the_rigs_and_carry_their_effect() -> None:
    world = World(6, boards=12, runs=6, years=6.0, rigs=3, bridges=4, wrong=0.0, workloads=["w4"])
    bare = World(6, boards=12, runs=6, years=6.0, rigs=3, bridges=0, wrong=0.0, workloads=["w4"])
    assert len(world.log) == len(bare.log) + 8
    last: dict[str, tuple[str, dict[str, str], float]] = {}
    errors = []
    for x in world.log:
        if not x.run.readings:
            continue
        like = {k: v for k, v in x.true.items() if k != "video"}
        score = float(np.log(np.mean([r.value for r in x.run.readings])))
        before = last.get(x.board)
        if before is not None and before[0] != x.rig and before[1] == like:
            one, two = (world.truth(x.board, like, rig=r).score["w4"] for r in (before[0], x.rig))
            assert one is not None
            assert two is not None
            rounding = 0.06 / x.run.readings[0].value
            errors.append((score - before[2] - (two - one)) / (0.006 + rounding))
        last[x.board] = (x.rig, like, score)
    assert len(errors) >= 8
    assert np.max(np.abs(errors)) < 4.0


def test_boards_differ_as_boards_do() -> None:
    worlds = [World(s, boards=8, runs=1) for s in range(60, 90)]
    found = {(s, b): w._bench.boards[b].efficiency for s, w in enumerate(worlds) for b in w._bench.boards}
    assert 0.021 < np.std(list(found.values())) < 0.029  # 2.5 %, chipset and board together
    pairs = []
    for w in worlds:
        by_chipset: dict[str, list[float]] = {}
        for b in w._bench.boards.values():
            by_chipset.setdefault(b.chipset.id, []).append(b.efficiency)
        pairs += [v[0] - v[1] for v in by_chipset.values() if len(v) > 1]
    assert len(pairs) > 20
    assert 0.004 < np.std(pairs) < 0.011  # 0.5 % within a class, times the root of two
