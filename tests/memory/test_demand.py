"""Shipped profiles, the seam that reads them at any geometry, blends, and errors of leaving one out."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.memory.demand import (
    QUANTITIES,
    Demand,
    blend,
    demand,
    demand_many,
    families,
    learn_weights,
    load_profile,
    made_with,
    profile,
    profiles_digest,
)
from leadoff.memory.geometry import Cache, Dram, Hierarchy
from leadoff.memory.left_out import QUANTITIES as LEFT_OUT
from leadoff.memory.left_out import left_out, prior_wins
from leadoff.memory.placement import Placement
from leadoff.memory.profiling import REACH, make_profile
from leadoff.memory.simulate import Simulator
from leadoff.memory.traces import Trace
from leadoff.record.errors import LeadoffError

WT8 = Cache(size_kb=8, ways=4, policy="wt")
WB16 = Cache(size_kb=16, ways=4, policy="wb")


def board(kb: int, l1: Cache | None = WB16, **more: object) -> Hierarchy:
    return Hierarchy(
        l1=l1, l2=Cache(size_kb=kb, line_bytes=l1.line_bytes if l1 else 16, **more) if kb else None
    )  # type: ignore[arg-type]


def value(d: Demand, name: str) -> float:
    return float(getattr(d, name).value)


def test_shipped_families_say_how_they_were_made() -> None:
    assert set(families()) == {"render", "intmix", "blit", "matrix", "windows64", "packing"}
    about = made_with()
    assert about["script"] == "workloads/build.py"
    assert "stack are" in about["assumed"] or "stack" in about["assumed"]
    assert len(profiles_digest()) == 64
    for name in families():
        p = profile(name)
        assert p.references > 2_000_000
        assert p.instructions is not None
        assert 1.5 < (p.instructions_per_reference or 0) < 12


@pytest.mark.parametrize("name", ["render", "intmix", "blit", "matrix", "windows64", "packing"])
def test_signs_and_bounds(name: str) -> None:
    p = profile(name)
    for l1 in (WT8, WB16, Cache(size_kb=16, ways=4, line_bytes=32), None):
        none = demand(p, board(0, l1))
        sizes = [demand(p, board(kb, l1)) for kb in (64, 128, 256, 512, 1024)]
        misses = [value(d, "fills_memory") for d in (none, *sizes)]
        assert misses == sorted(misses, reverse=True)
        assert value(none, "fills") == pytest.approx(value(none, "fills_memory"))
        assert none.l2_hit == 0.0
        for d in sizes:
            assert value(d, "fills_memory") <= value(d, "fills")
            assert value(d, "stores_memory") <= value(d, "stores") * 1.0001
            assert 0 <= d.l2_hit <= 1
            assert value(d, "row_miss") + value(d, "page_miss") <= 1.0001
            assert d.outside == ""
    assert value(demand(p, board(256, WT8)), "victims_l1") == 0.0
    larger = Cache(size_kb=16, ways=4, policy="wt")
    assert value(demand(p, board(256, larger)), "fills") <= value(demand(p, board(256, WT8)), "fills")
    through, back = demand(p, board(256, WT8)), demand(p, board(256, Cache(size_kb=8, ways=4)))
    assert value(through, "stores") >= value(back, "stores")


def test_policies_of_the_second_level() -> None:
    p = profile("render")
    back, through, blind = (demand(p, board(256, **k)) for k in ({}, {"policy": "wt"}, {"dirty_bit": False}))
    assert value(through, "stores_memory") == value(through, "stores")
    assert value(through, "victims_l2") == 0.0
    assert value(blind, "victims_l2") == pytest.approx(value(blind, "fills_memory"))
    assert value(blind, "victims_l2") > value(back, "victims_l2")


def test_between_and_beyond_the_grid() -> None:
    p = profile("blit")
    a, b, c = (value(demand(p, board(kb)), "fills_memory") for kb in (128, 256, 512))
    assert a > b > c
    wide = demand(p, Hierarchy(l1=WB16, l2=Cache(size_kb=768, ways=3)))
    assert wide.outside == ""
    assert value(wide, "fills_memory") < c * 1.2
    far = demand(p, board(4096))
    assert far.outside == "outer level of 4096 taken as 2048"
    odd = demand(p, Hierarchy(l1=Cache(size_kb=16, ways=4, line_bytes=32, policy="wt"), l2=None))
    assert "policy taken as write-back" in odd.outside


def test_uncached_share_goes_to_memory() -> None:
    p = profile("render")
    none, half, all_of_it = (
        value(demand(p, board(256), uncached_share=u), "fills_memory") for u in (0.0, 0.5, 1.0)
    )
    assert all_of_it == pytest.approx(value(demand(p, board(0)), "fills_memory"), rel=0.01)
    assert half == pytest.approx((none + all_of_it) / 2)
    with pytest.raises(LeadoffError, match=r"an uncached share of 1\.5"):
        demand(p, board(256), uncached_share=1.5)


def test_pages_known_narrow_the_spread() -> None:
    p = profile("render")
    said = {k: demand(p, board(256), pages=k) for k in ("contiguous", "scattered", "unknown")}
    assert value(said["contiguous"], "fills_memory") < value(said["scattered"], "fills_memory")
    assert said["contiguous"].fills_memory.log_sd < said["unknown"].fills_memory.log_sd
    low, high = value(said["contiguous"], "fills_memory"), value(said["scattered"], "fills_memory")
    assert low < value(said["unknown"], "fills_memory") < high


def test_three_levels() -> None:
    p = profile("render")
    two = demand(p, Hierarchy(l1=WB16, l2=Cache(size_kb=256, ways=4)))
    three = demand(p, Hierarchy(l1=WB16, l2=Cache(size_kb=256, ways=4), l3=Cache(size_kb=1024)))
    assert three.l2_hit == pytest.approx(two.l2_hit)
    assert value(three, "fills_memory") <= value(two, "fills_memory")
    small = demand(p, Hierarchy(l1=WB16, l2=Cache(size_kb=64)))
    helped = demand(p, Hierarchy(l1=WB16, l2=Cache(size_kb=64), l3=Cache(size_kb=1024)))
    assert value(helped, "fills_memory") < 0.5 * value(small, "fills_memory")


def test_blend_lies_between_its_families_and_learns() -> None:
    mixed = demand(blend(), board(256))
    each = [value(demand(profile(n), board(256)), "fills") for n in families()]
    assert min(each) < value(mixed, "fills") < max(each)
    assert mixed.fills.between > 0.2
    alone = demand(blend({"render": 1.0}), board(256))
    assert value(alone, "fills") == pytest.approx(value(demand(profile("render"), board(256)), "fills"))
    assert alone.fills.between == pytest.approx(0.0, abs=1e-9)
    weights = learn_weights(dict.fromkeys(families(), 1 / 6), {"render": 0.0, "blit": -3.0, "matrix": -50.0})
    assert sum(weights.values()) == pytest.approx(1.0)
    assert weights["render"] == pytest.approx(weights["blit"] * math.exp(3))
    with pytest.raises(LeadoffError, match="make no mixture"):
        blend({"render": -1.0})
    with pytest.raises(LeadoffError, match="no profile 'golf' is shipped"):
        profile("golf")


def test_many_is_the_same_as_one_at_a_time() -> None:
    shapes = [board(64), board(512), board(0)]
    made = demand_many(blend(), shapes)
    for q in QUANTITIES:
        assert made[q].tolist() == [value(demand(blend(), s), q) for s in shapes]


def test_left_out_errors_are_all_there_and_say_who_wins() -> None:
    found = left_out()
    assert len(found) == len(families()) * len(LEFT_OUT)
    for e in found:
        assert 0 <= e.median_log_error <= e.worst_log_error
        assert e.prior_wins == (e.median_log_error > e.band)
    assert {q for q in LEFT_OUT if prior_wins(q)} <= set(LEFT_OUT)


def test_profile_equals_the_simulator_at_a_point_of_the_grid(
    kit_trace: Callable[[str, int], Trace], tmp_path: Path
) -> None:
    trace = kit_trace("windows64", 4)
    seen: list[tuple[int, int | None]] = []
    p = make_profile(trace, "mine", placements=1, progress=lambda done, all_: seen.append((done, all_)))
    assert [n for n, _ in seen] == list(range(1, 1 + (seen[-1][1] or 0)))
    alone = make_profile(trace, "mine", placements=1, threads=1)
    for field in ("inner", "outer", "outer_log_sd", "contiguous"):
        assert np.array_equal(getattr(p, field), getattr(alone, field))
    l1 = Cache(size_kb=16, ways=4, policy="wb", replacement="tree")
    machine = Simulator(Hierarchy(l1=l1, l2=Cache(size_kb=128), dram=Dram()))
    machine.feed(trace.addr[: trace.marks[1]], trace.info[: trace.marks[1]])
    machine.forget_counts()
    machine.feed(trace.addr[trace.marks[1] :], trace.info[trace.marks[1] :])
    counts = machine.counts()
    per = 1000 / counts.references
    d = demand(p, board(128), pages="contiguous")
    assert value(d, "fills") == pytest.approx(counts.levels[0].fills * per, rel=1e-5)
    assert value(d, "stores") == pytest.approx(counts.levels[0].stores_out * per, rel=1e-5)
    assert value(d, "fills_memory") == pytest.approx(counts.levels[1].fills * per, rel=1e-5)
    assert value(d, "stores_memory") == pytest.approx(counts.levels[1].stores_out * per, rel=1e-5)
    assert value(d, "victims_l2") == pytest.approx(counts.levels[1].victims_out * per, rel=1e-5)
    p.save(tmp_path / "mine.npz")
    back = load_profile(tmp_path / "mine.npz")
    assert back.name == "mine"
    assert np.allclose(back.outer, p.outer)
    assert value(demand(back, board(128)), "fills") == pytest.approx(value(demand(p, board(128)), "fills"))


def test_a_reference_across_the_end_of_the_last_page_is_placed() -> None:
    # Half of the references lie across the end of the highest page; their second lines have a page of their own.
    n = 40_000
    addr = np.where(np.arange(n) % 2, 0x3FFFC, np.arange(n) * 64 % 0x3FF00).astype(np.uint32)
    info = np.full(n, 7 << 2, dtype=np.uint8)
    trace = Trace(name="edge", form="made", addr=addr, info=info)
    made = [make_profile(trace, "edge", placements=2, made="2026-01-01") for _ in range(2)]
    assert np.array_equal(made[0].outer, made[1].outer)
    table = Placement(kind="random", seed=1).table(trace.top + REACH)  # type: ignore[arg-type]
    assert table.size == (0x40000 >> 12) + 1


def test_files_that_are_no_profiles_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.npz"
    path.write_bytes(b"hello")
    with pytest.raises(LeadoffError, match="no whole file of profiles"):
        load_profile(path)
    short = Trace(name="s", form="made", addr=np.zeros(10, np.uint32), info=np.zeros(10, np.uint8))
    with pytest.raises(LeadoffError, match="below 20000 a profile shows the cold start only"):
        make_profile(short, "s")


@given(st.sampled_from([32, 48, 64, 100, 256, 700, 2048]), st.sampled_from([1, 2, 4]), st.integers(1, 64))
@settings(max_examples=60, deadline=None)
def test_any_geometry_gives_finite_rates(kb: int, ways: int, l1_kb: int) -> None:
    def near(size: int, n: int) -> Cache:
        sets = 2 ** max(0, round(math.log2(size * 1024 / 16 / n)))
        return Cache(size_kb=sets * n * 16 / 1024, ways=n)

    d = demand(blend(), Hierarchy(l1=near(l1_kb, 4), l2=near(kb, ways)))
    for q in QUANTITIES:
        rate = getattr(d, q)
        assert math.isfinite(rate.value)
        assert rate.value >= 0
        assert math.isfinite(rate.log_sd)
