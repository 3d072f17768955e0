"""Advice on a cache change: it can say that doubling hurts and that it helps for another reason than size."""

from __future__ import annotations

import msgspec
import pytest

from leadoff.memory.advice import CacheSetup, advise_change
from leadoff.memory.demand import blend, profile
from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.record.errors import LeadoffError

L1 = Cache(size_kb=16, ways=4)


def board(kb: int | None) -> Hierarchy:
    return Hierarchy(l1=L1, l2=Cache(size_kb=kb) if kb else None)


NOW = CacheSetup(
    hierarchy=board(256),
    bus_mhz=100 / 3,
    core_mhz=100,
    l2_clocks=(5, 5),
    memory_clocks=(9, 10),
    store_clocks=(2, 2),
)


def then(**changes: object) -> CacheSetup:
    return msgspec.structs.replace(NOW, **changes)


def test_no_change_changes_nothing() -> None:
    a = advise_change(blend(), NOW, NOW)
    assert a.score_change_pct.value == pytest.approx(0.0, abs=1e-9)
    assert (a.score_change_pct.lo, a.score_change_pct.hi) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert a.break_even_l2_clocks.value == pytest.approx(5.0)
    assert a.why == ()


def test_doubling_at_the_same_clocks_helps() -> None:
    a = advise_change(blend(), NOW, then(hierarchy=board(512)))
    assert a.pays == "yes"
    assert (a.hit_then.value or 0) > (a.hit_now.value or 0)
    assert (a.mean_fill_then.value or 9) < (a.mean_fill_now.value or 0)
    assert any("of line reads instead of" in w for w in a.why)


def test_doubling_that_loses_the_second_bank_can_hurt() -> None:
    # 512 KB of four chips is one bank and loses x-1-1-1 (comp.sys.ibm.pc.hardware FAQ, read): 2-1-1-1 becomes 3-2-2-2
    a = advise_change(profile("render"), NOW, then(hierarchy=board(512), l2_clocks=(9, 9)))
    assert a.pays == "no"
    assert (a.score_change_pct.value or 0) < 0
    assert (a.hit_then.value or 0) > (a.hit_now.value or 0)
    even = a.break_even_l2_clocks
    assert even.value is not None
    assert 5.0 < even.value < 9.0


def test_break_even_is_where_the_change_is_nothing() -> None:
    wanted = advise_change(profile("render"), NOW, then(hierarchy=board(512))).break_even_l2_clocks.value
    assert wanted is not None
    at = advise_change(profile("render"), NOW, then(hierarchy=board(512), l2_clocks=(wanted, wanted)))
    assert at.score_change_pct.value == pytest.approx(0.0, abs=0.3)
    assert at.pays == "cannot tell"


def test_the_range_can_pay_where_the_size_does_not() -> None:
    # Twice the size reaches twice as far: with half of the lines beyond the range, size alone is not the reason.
    before = then(l2_clocks=(6.0, 6.0), memory_clocks=(14.0, 15.0))
    after = then(l2_clocks=(8.0, 8.0), memory_clocks=(14.0, 15.0), hierarchy=board(512))
    size_only = advise_change(profile("packing"), before, after)
    half_beyond = msgspec.structs.replace(before, uncached_share=0.5)
    ranged = advise_change(profile("packing"), half_beyond, after)
    assert (size_only.score_change_pct.value or 0) < 0
    assert ranged.pays == "yes"
    assert any("beyond the cacheable range" in w for w in ranged.why)


def test_taking_the_cache_away_costs_and_has_no_hit_to_break_even() -> None:
    a = advise_change(blend(), NOW, then(hierarchy=board(None)))
    assert a.pays == "no"
    assert a.hit_then.value == 0.0
    assert a.break_even_l2_clocks.value is None


def test_faster_memory_hardly_shows_where_its_share_is_small() -> None:
    # common practice, no source: EDO in place of FPM on a chipset that does not use its timing changes nothing but
    # the odd clock; at a resolution of 0.1 in 23.4 (0.43 %) it does not show
    share = (0.85, 0.9)
    same = advise_change(profile("packing"), NOW, then(memory_clocks=(9, 10)), core_share=share)
    assert same.score_change_pct.value == pytest.approx(0.0, abs=1e-9)
    odd = advise_change(profile("packing"), NOW, then(memory_clocks=(8, 9)), core_share=share)
    assert 0.0 < (odd.score_change_pct.value or 0) < 0.43


def test_a_larger_core_share_leaves_less_to_gain() -> None:
    gains = [
        advise_change(blend(), NOW, then(hierarchy=board(512)), core_share=(s, s)).score_change_pct.value or 0
        for s in (0.3, 0.6, 0.9)
    ]
    assert gains[0] > gains[1] > gains[2] > 0


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"l2_clocks": (9.0, 5.0)}, "l2_clocks from 9 to 5"),
        ({"core_mhz": 20.0}, "a core of 20 MHz on a bus of 33"),
    ],
)
def test_sides_that_cannot_be_are_refused(change: dict[str, object], match: str) -> None:
    fields = {f: getattr(NOW, f) for f in NOW.__struct_fields__}
    with pytest.raises(LeadoffError, match=match):
        CacheSetup(**(fields | change))


def test_core_share_must_be_a_share() -> None:
    with pytest.raises(LeadoffError, match="must lie inside 0 to 1"):
        advise_change(blend(), NOW, NOW, core_share=(0.5, 1.2))
