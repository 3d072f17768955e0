"""Explanations: an exact split, verdicts, and hints at wrong declarations."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from books import book_of
from makers import FRAMES, seen, setup, sheet
from test_model import state

from leadoff.forecast import scale
from leadoff.forecast.explain import why
from leadoff.forecast.shapley import shapley_matrix
from leadoff.forecast.why import BUS, CORE
from leadoff.validation.worlds import World


@pytest.mark.parametrize("k", [1, 2, 3, 5])
def test_the_matrix_is_the_mean_over_all_orders(k: int) -> None:
    """Shapley 1953: the mean marginal contribution over all orders of joining."""
    value = np.random.default_rng(k).standard_normal(2**k)
    want = np.zeros(k)
    orders = list(permutations(range(k)))
    for order in orders:
        m = 0
        for i in order:
            want[i] += value[m | 1 << i] - value[m]
            m |= 1 << i
    got = shapley_matrix(k) @ value
    assert got == pytest.approx(want / len(orders), abs=1e-12)
    assert got.sum() == pytest.approx(value[-1] - value[0], abs=1e-12)


def test_a_clock_change_is_told_and_the_parts_sum_to_the_whole() -> None:
    a = seen(state("486", ratio="2"), "30.0 30.1 30.0")
    b = seen(state("486", ratio="3", l2_read="2-1-1-1"), "41.0 41.1 41.0", number="2")
    got = why(a, b, FRAMES, (a, b))
    by_name = {f.factor: f for f in got.factors}
    assert set(by_name) == {CORE, "l2_read"}
    assert by_name[CORE].verdict == "shown"
    assert (by_name[CORE].share.value or 0.0) > 20.0
    assert by_name["l2_read"].verdict in ("expected", "cannot_tell")
    total = sum(np.log1p((f.share.value or 0.0) / 100.0) for f in got.factors)
    assert got.remainder_pct is not None
    # effects and remainder together are the observed difference, in logs
    rest = (got.remainder_pct.value or 0.0) / 100.0
    assert total + rest == pytest.approx(np.log(41.033333 / 30.033333), abs=2e-3)


def test_changes_that_offset_are_not_claimed_shown_from_two_runs() -> None:
    a = seen(state("486", l2_read="2-1-1-1", dram_read="5-3-3-3"), "20.0")
    b = seen(state("486", l2_read="3-2-2-2", dram_read="3-2-2-2"), "20.0", number="2")
    got = why(a, b, FRAMES, (a, b))
    assert all(f.verdict != "shown" for f in got.factors)
    assert got.cheapest_run is not None
    assert got.cheapest_run.minutes > 0.0


def test_bus_alone_moves_core_and_side_clocks_with_it() -> None:
    a = seen(state("socket7", bus_mhz="60"), "40.0")
    b = seen(state("socket7", bus_mhz="200/3"), "44.3", number="2")
    got = why(a, b, FRAMES, (a, b))
    assert {f.factor for f in got.factors} == {CORE, BUS}


def test_runs_of_two_boards_are_not_split_by_the_model() -> None:
    a = seen(state("486"), "20.0")
    other = setup({"bus_mhz": "40", "ratio": "2"}, sheet("quay-2"))
    b = seen(other, "33.0", number="2")
    got = why(a, b, FRAMES, (a, b))
    assert all(f.verdict == "cannot_tell" for f in got.factors)
    assert got.remainder_pct is None


def test_effects_of_generated_pairs_lie_in_their_bands() -> None:
    """Truth by the same split of the generator's own states; bands of 90 % are to hold about that often."""
    inside, total = 0, 0
    for seed in range(4):
        world = World(
            500 + seed, boards=1, runs=8, workloads=("w4",), classes=("486vlb",), unknown=0.0, wrong=0.0
        )
        book = book_of(world)
        workload = next(w for w in book.workloads if w.name == "w4")
        board = world.boards[0].id
        own = [o for o in book.runs if scale.usable(o.run)]
        if len(own) < 2:
            continue
        a, b = own[0], own[-1]
        got = why(a, b, workload, book.runs, workloads=book.workloads)
        truth = _true_effects(world, board, a, b, [f.factor for f in got.factors])
        for f, t in zip(got.factors, truth, strict=True):
            assert f.share.lo is not None
            assert f.share.hi is not None
            inside += f.share.lo - 0.05 <= 100.0 * np.expm1(t) <= f.share.hi + 0.05
            total += 1
    assert total >= 8
    assert inside / total >= 0.7


def _true_effects(world: World, board: str, a: object, b: object, factors: list[str]) -> np.ndarray:  # type: ignore[type-arg]
    names = {CORE: "ratio", BUS: "bus_mhz"}
    one = {n: s.value for n, s in a.setup.state.settings.items() if s.value}  # type: ignore[attr-defined]
    two = {n: s.value for n, s in b.setup.state.settings.items() if s.value}  # type: ignore[attr-defined]
    known = world.declared(board).keys()
    states = []
    for m in range(2 ** len(factors)):
        taken = {f for i, f in enumerate(factors) if m >> i & 1}
        now = {n: v for n, v in one.items() if n in known}
        for f in factors:
            name = names.get(f, f)
            if f in taken and name in two and f not in (CORE, BUS):
                now[name] = two[name]
        core = float(_mhz(b if CORE in taken else a, "core_mhz"))
        bus = _mhz(b if BUS in taken else a, "bus_mhz")
        now["bus_mhz"] = str(bus)
        now["ratio"] = str(_mhz(b if CORE in taken else a, "core_mhz") / bus)
        assert core > 0.0
        states.append(now)
    place = [w.name for w in world.workloads].index("w4")
    return np.asarray(shapley_matrix(len(factors)) @ world.scores(board, states)[:, place])


def _mhz(seen_: object, name: str) -> object:
    return seen_.setup.clocks[name]  # type: ignore[attr-defined]
