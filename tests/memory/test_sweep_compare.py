"""Sheet against sweep: hypotheses, the cheapest to rule out first, nobody accused on one sweep."""

from __future__ import annotations

import pytest
from test_sweep_levels import BENCH

from leadoff.memory.sweep import Declared, Point, Sweep, SweepKind, compare_sweep, parse_sweep, read_sweep


def two_levels(l1: int, second: int | None, top: int = 2048) -> Sweep:
    points = []
    size = 1
    while size <= top:
        us = 10.0 if size <= l1 else (26.0 if second and size <= second else 36.0)
        points.append(Point(size_kb=size, us_per_kb=us * (1.01 if size % 3 else 0.99)))
        size *= 2
    return Sweep(kind=SweepKind.READ, points=tuple(points))


def disputes(sweep: Sweep, **sheet: object) -> dict[str, tuple[str, ...]]:
    found = compare_sweep(read_sweep(sweep, bus_mhz=33.3), Declared(**sheet))  # type: ignore[arg-type]
    for d in found:
        assert sum(h.p for h in d.hypotheses) == pytest.approx(1.0)
        worth = [h.p / h.minutes for h in d.hypotheses]
        assert worth == pytest.approx(sorted(worth, reverse=True))
    return {d.code: tuple(h.name for h in d.hypotheses) for d in found}


def test_agreement_is_silent() -> None:
    assert disputes(two_levels(8, 256), l1_kb=8, l2=True, l2_kb=256) == {}
    assert disputes(two_levels(8, 256)) == {}
    assert disputes(two_levels(8, None), l1_kb=8, l2=False) == {}


def test_three_sizes_accuse_no_second_level() -> None:
    """16 KB and 1 MB with nothing between: whether a step hides there cannot be told; four sizes can tell."""
    text = "8K 10.2us/KB, 16K 10.3, 1024K 36.2"
    sheet = Declared(l1_kb=8, l2=True, l2_kb=256)
    few = read_sweep(parse_sweep(text, kind="read"), bus_mhz=33.3)
    assert compare_sweep(few, sheet) == ()
    assert "cannot be told from three sizes" in few.too_few
    enough = read_sweep(parse_sweep(f"{text}, 2048K 36.1", kind="read"), bus_mhz=33.3)
    assert not enough.too_few
    assert [d.code for d in compare_sweep(enough, sheet)] == ["no_second_level"]


def test_no_second_level_begins_with_the_set_up() -> None:
    found = disputes(two_levels(8, None), l1_kb=8, l2=True, l2_kb=256)
    names = found["no_second_level"]
    assert names[0] == "switched off in set-up"
    assert "cache jumper" in names[1]
    assert not any("do not store" in n for n in names)


def test_chips_are_named_only_from_the_second_sweep_on_and_last() -> None:
    names = disputes(two_levels(8, None), l1_kb=8, l2=True, l2_kb=256, sweeps=2)["no_second_level"]
    assert names[-1] == "chips that do not store"
    once = disputes(two_levels(8, 128), l1_kb=8, l2=True, l2_kb=256)["smaller_second_level"]
    twice = disputes(two_levels(8, 128), l1_kb=8, l2=True, l2_kb=256, sweeps=2)["smaller_second_level"]
    assert "chips smaller than their marking" not in once
    assert twice[-1] == "chips smaller than their marking"


def test_half_the_size_asks_for_the_jumper_first() -> None:
    names = disputes(two_levels(8, 128), l1_kb=8, l2=True, l2_kb=256)["smaller_second_level"]
    assert "size jumper" in names[0]


def test_a_sweep_that_ends_too_early_says_nothing() -> None:
    assert disputes(two_levels(8, None, top=256), l1_kb=8, l2=True, l2_kb=256) == {}


def test_sizes_that_leave_it_open_say_nothing() -> None:
    sweep = two_levels(8, 256)
    gap = Sweep(kind=SweepKind.READ, points=tuple(p for p in sweep.points if p.size_kb not in (512, 1024)))
    assert disputes(gap, l1_kb=8, l2=True, l2_kb=512) == {}


def test_other_disagreements() -> None:
    assert set(disputes(two_levels(8, 256), l1_kb=8, l2=False)) == {"unexpected_second_level"}
    assert set(disputes(two_levels(8, 512), l1_kb=8, l2=True, l2_kb=256)) == {"larger_second_level"}
    assert set(disputes(two_levels(8, 256), l1_kb=16, l2=True, l2_kb=256)) == {"first_level_size"}
    gone = Sweep(
        kind=SweepKind.READ,
        points=tuple(Point(size_kb=2.0**k, us_per_kb=26.0 if k <= 8 else 36.0) for k in range(12)),
    )
    assert set(disputes(gone, l1_kb=8, l2=True, l2_kb=256)) == {"no_first_level"}


def test_a_slower_top_names_the_range() -> None:
    points = [(s, 10.0) for s in (1, 2, 4, 8)] + [(s, 20.0) for s in (16, 32, 64, 128, 256)]
    points += [(s, 30.0) for s in (512, 1024, 2048)] + [(s, 45.0) for s in (4096, 8192)]
    sweep = Sweep(kind=SweepKind.READ, points=tuple(Point(size_kb=s, us_per_kb=t) for s, t in points))
    assert "slower_top" in disputes(sweep, l1_kb=8, l2=True, l2_kb=256)


def test_write_policy() -> None:
    flat = Sweep(
        kind=SweepKind.WRITE,
        points=tuple(Point(size_kb=2.0**k, us_per_kb=20 + 0.1 * (k % 3)) for k in range(10)),
    )
    assert set(disputes(flat, l1_kb=8, l1_policy="wb")) == {"write_policy"}
    assert disputes(flat, l1_kb=8, l1_policy="wt") == {}


def test_bench_example_agrees_with_its_own_sheet() -> None:
    assert disputes(parse_sweep(BENCH), l1_kb=16, l2=True, l2_kb=256) == {}
