"""The generator obeys the rules it is written from."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from leadoff.validation.columns import Columns, columns
from leadoff.validation.limits import margins
from leadoff.validation.rows import rows
from leadoff.validation.score import parts, seconds
from leadoff.validation.storequeue import DEPTHS, LOADS, stall, tables
from leadoff.validation.worlds import World

CLASSES = ["386sx", "386dx", "486vlb", "486pci", "socket5", "socket7", "slot1"]
FASTER_FIRST = (
    "l2_read",
    "l2_read_ws",
    "l2_write_ws",
    "dram_read",
    "dram_read_ws",
    "dram_write_ws",
    "vlb_ws",
)
ORDER = {"l2_read": ("2-1-1-1", "3-1-1-1", "3-2-2-2", "4-2-2-2", "4-3-3-3")}
FASTER_LAST = ("bus_mhz", "ratio", "write_combine", "isa_ratio")


@pytest.fixture(scope="module")
def world() -> World:
    return World(21, boards=7, runs=2, classes=CLASSES)


def speed(world: World, board: str, state: dict[str, str]) -> np.ndarray:
    """Log speed of every workload, larger is faster whatever the unit."""
    sign = np.array([-1.0 if w.direction.value == "lower" else 1.0 for w in world.workloads])
    return sign * world.scores(board, [state])[0]


@pytest.mark.parametrize("cls", CLASSES)
def test_each_setting_moves_the_score_in_the_right_sign(world: World, cls: str) -> None:
    board = next(b.id for b in world.boards if b.board_class == cls)
    base = world.state(board)
    checked = 0
    for name, values in world.reach(board).items():
        if name in ("cas", "rcd", "rp"):
            ordered = sorted(values, key=int)
        elif name in FASTER_FIRST:
            ordered = [v for v in ORDER[name] if v in values] if name in ORDER else list(values)
        elif name in FASTER_LAST:
            ordered = list(reversed(sorted(values, key=lambda v: rows_value(v))))
        elif name == "refresh":
            ordered = ["slow", "normal"]
        elif name == "profile":
            ordered = ["bare", "full"]
        elif name == "l1_policy" and cls.startswith("486"):
            ordered = ["wb", "wt"]
        else:
            continue
        if name == "l2_read" and base.get("l2_type") == "pipelined burst":
            continue
        found = [speed(world, board, {**without_can(base), name: v}) for v in ordered]
        for fast, slow in pairwise(found):
            keep = ~np.isnan(fast)
            tolerance = 0.002 if name in ("bus_mhz", "l1_policy") else 1e-12
            assert (fast[keep] >= slow[keep] - tolerance).all(), (cls, name, ordered)
        # The display bus shows only where the bus is slower than the card and the loop.
        if name not in ("isa_ratio", "vlb_ws", "write_combine"):
            assert np.nanmax(found[0] - found[-1]) > 1e-4, (cls, name)
        checked += 1
    assert checked >= 4


def rows_value(text: str) -> float:
    return 1.0 if text == "on" else 0.0 if text == "off" else float(Fraction(text))


def without_can(state: dict[str, str]) -> dict[str, str]:
    return {k: v for k, v in state.items() if k != "can_mhz"}


@pytest.mark.parametrize("cls", CLASSES)
def test_all_clocks_by_k_gives_score_by_k(world: World, cls: str) -> None:
    board = next(b.id for b in world.boards if b.board_class == cls)
    hidden, bench = world._bench.boards[board], world._bench
    base = columns(hidden, [bench.full(board, {})])
    k = 1.37
    clocks = ("fb", "fc", "f_l2", "f_mem", "f_pci", "f_isa", "f_agp", "f_v")
    scaled = {
        n: v * k if n in clocks else v / k if n in ("card_ns", "refresh_us") else v
        for n, v in base.values.items()
    }
    one = seconds(hidden, parts(hidden, base, bench.mill, fixed=0.0), bench.mill)
    # A refresh holds for a number of memory clocks, so its share is kept by an interval that shrinks alike.
    other = seconds(hidden, parts(hidden, Columns(scaled), bench.mill, fixed=0.0, rates=k), bench.mill)
    assert hidden.chipset.hold_us * 33.3 / base.f_mem[0, 0] < 3.0
    able = ~np.isnan(one)
    assert able.sum() >= 5
    np.testing.assert_allclose((one / other)[able], k, rtol=1e-12)


def test_fixed_time_breaks_the_identity(world: World) -> None:
    board = next(b.id for b in world.boards if b.board_class == "486vlb")
    hidden, bench = world._bench.boards[board], world._bench
    base = columns(hidden, [bench.full(board, {})])
    with_o = parts(hidden, base, bench.mill)
    without = parts(hidden, base, bench.mill, fixed=0.0)
    assert (seconds(hidden, with_o, bench.mill) > seconds(hidden, without, bench.mill)).any()


def test_undefined_without_a_coprocessor(world: World) -> None:
    board = next(b.id for b in world.boards if b.board_class == "386sx")
    truth = world.truth(board, {"fpu": "none"})
    assert truth.score["w3"] is None
    assert truth.score["w1"] is not None
    assert world.truth(board, {"fpu": "387"}).score["w3"] is not None
    run = world.measure(board, {"fpu": "none"}, "w3")
    assert run.readings == ()
    assert "coprocessor" in run.place


def test_a_load_of_one_entry_follows_the_exact_formula() -> None:
    """One entry, exponential gaps of mean 1, service s: stall = E max(0, s - gap) = s - 1 + exp(-s)."""
    load = np.array([[0.25, 0.5, 1.0, 2.0, 4.0]])
    got = stall(load, np.array([[1.0]]), np.zeros((1, 5)))
    np.testing.assert_allclose(got, load - 1.0 + np.exp(-load), rtol=0.05, atol=0.004)


def test_the_queue_stalls_less_with_more_entries_and_more_with_load() -> None:
    table, queued = tables()
    assert (np.diff(queued, axis=2) >= -1e-12).all()
    assert (np.diff(table, axis=2) >= -1e-12).all()
    assert (np.diff(table, axis=1) <= 1e-12).all()
    # Saturated: the bus is the bottleneck, whatever the depth; stall is then the load less one.
    np.testing.assert_allclose(table[:, :, -1], LOADS[-1] - 1.0, rtol=0.03)
    assert len(DEPTHS) == table.shape[1]


@pytest.mark.reference
def test_one_write_wait_state_costs_about_six_percent() -> None:
    """Source: Intel, Embedded Intel486 hardware reference manual (273025, 1997), section 5.2.4.2, p. 145:
    about 6 % of performance per extra write wait state. Write-through 33 MHz part at x1; the two workloads
    that write about as often as the traces of its time."""
    world = World(4, boards=12, runs=1, classes=["486vlb"], workloads=["w1", "w2"])
    costs = []
    for b in world.boards:
        base = {"cpu": "486dx-33-5v", "bus_mhz": "100/3", "ratio": "1", "l1_policy": "wt", "l2_policy": "wb"}
        fast, slow = (speed(world, b.id, {**base, "l2_write_ws": n}) for n in ("0", "1"))
        costs.append(fast - slow)
    assert 0.03 < np.mean(costs) < 0.09


@pytest.mark.reference
def test_write_hit_takes_the_grades_of_the_budget() -> None:
    """Write hit in two clocks at data-sheet maxima: 33 MHz takes 15 ns and fails 20; 40 takes 12 and misses 15;
    50 fails 12 and 10. Source: Cypress CY7C199 data sheet 38-05160 (pulse widths); bus times from memory."""
    world = World(4, boards=1, runs=1, classes=["486vlb"])
    board = world.boards[0].id
    hidden = world._bench.boards[board]
    worst = replace(hidden.limits, sram=1.0, logic=1.0, buffer_ns=0.0, compare_ns=12.0)
    hidden = replace(hidden, limits=worst)
    base = world._bench.full(board, {"l2": "on", "l2_write_ws": "0", "video_bus": "vlb", "vlb_ws": "0"})
    held = {
        (bus, ns): margins(hidden, {**base, "bus_mhz": bus, "l2_ns": ns, "tag_ns": ns})["l2_write"] >= 0
        for bus in ("100/3", "40", "50")
        for ns in ("10", "12", "15", "20")
    }
    assert held["100/3", "15"]
    assert not held["100/3", "20"]
    assert held["40", "12"]
    assert not held["40", "15"]
    assert not held["50", "12"]
    assert not held["50", "10"]


def test_margins_fall_as_clocks_rise(world: World) -> None:
    for b in world.boards:
        base = without_can(world.state(b.id))
        found = [world.truth(b.id, {**base, "bus_mhz": v}).limits for v in world.reach(b.id)["bus_mhz"]]
        for low, high in pairwise(found):
            for path in ("core", "bus", "dram"):
                assert high[path] < low[path]


def test_more_volts_raise_the_ceiling(world: World) -> None:
    board = next(b.id for b in world.boards if b.board_class == "slot1")
    low, high = (world.truth(board, {"core_v": v}).limits["core"] for v in ("2", "2.05"))
    assert high > low


def test_every_data_file_says_how_it_is_known() -> None:
    from importlib.resources import files

    folder = files("leadoff.validation").joinpath("data")
    names = [f.name for f in folder.iterdir() if f.name.endswith(".toml")]
    assert len(names) >= 6
    for name in names:
        assert "invented" in folder.joinpath(name).read_text(encoding="utf-8")
    assert set(rows().classes) == set(CLASSES)


def test_heat_lowers_the_ceiling_and_attempts_follow_the_chance(world: World) -> None:
    board = next(b.id for b in world.boards if b.board_class == "slot1")
    base = world.truth(board, {})
    hot = world.truth(board, {"temp_c": "70"})
    assert hot.limits["core"] < base.limits["core"]
    # Put the core on its ceiling: about half of the attempts hold, as the truth's own chance says.
    edge = 45.0 + (1.0 - float(np.exp(-base.limits["core"]))) / 0.0012
    state = {"temp_c": str(edge)}
    chance = world.truth(board, state).chance
    assert 0.3 < chance < 0.7
    held = world.attempts(board, state, of=400)
    assert abs(held / 400 - chance) < 0.1
    assert world.attempts(board, {}, of=20) == 20
