"""Memory beyond what the cache can hold lines of slows the forecast, with the chipset's way of marking lines."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from leadoff.forecast.facts import Setup, TagFacts
from leadoff.forecast.geometry import demand, range_words
from leadoff.forecast.priors import priors
from leadoff.forecast.terms import log_time_only
from leadoff.record.board import BoardSheet
from leadoff.record.quantity import Source
from leadoff.record.runs import Direction, Workload
from leadoff.record.state import Setting, State, Status
from leadoff.timing import cacheable

FRAMES = Workload(name="w1", unit="frames/s", direction=Direction.HIGHER)


def state(ram_mb: int, policy: str, tag: TagFacts) -> Setup:
    said = {
        "l2": "on",
        "l2_kb": "128",
        "tag_bits": "8",
        "ram_mb": str(ram_mb),
        "l2_policy": policy,
        "l1": "on",
    }
    settings = {n: Setting(value=v, status=Status.KNOWN, source=Source.DECLARED) for n, v in said.items()}
    return Setup(
        sheet=BoardSheet(id="made-up", board_class="486vlb"),
        state=State(board="made-up", settings=settings),
        clocks={"core_mhz": Fraction(200, 3), "bus_mhz": Fraction(100, 3)},
        tag=tag,
    )


def time_of(setup: Setup) -> float:
    d = demand(FRAMES, setup)
    fields = {n: getattr(d, n) for n in d.__struct_fields__}
    return float(log_time_only({f"{p.level}.{p.name}": p.centre for p in priors()}, fields))


@pytest.mark.reference
@pytest.mark.parametrize(
    ("ram_mb", "policy", "marked"),
    [
        (16, "wt", False),
        (32, "wt", False),
        (64, "wt", False),
        (64, "wb", False),
        (32, "wb", True),
        (64, "wb", True),
    ],
)
def test_the_share_beyond_is_that_of_the_published_range(ram_mb: int, policy: str, marked: bool) -> None:
    """Range: size x 2^(tag bits - dirty bits of the tag), Intel386 DX Hardware Reference Manual 231732,
    figure 7-3."""
    range_mb = cacheable(
        size_kb=128, tag_bits=8, line_bytes=16, dirty_bits_from_tag=int(marked and policy == "wb")
    ).mb.value
    assert range_mb is not None
    d = demand(FRAMES, state(ram_mb, policy, TagFacts(marked=marked)))
    assert d.beyond == pytest.approx(max(0.0, 1.0 - range_mb / ram_mb))
    assert d.beyond_marked == d.beyond


def test_a_chipset_nobody_knows_leaves_both_ways_open() -> None:
    d = demand(FRAMES, state(32, "wb", TagFacts()))
    assert (d.beyond, d.beyond_marked) == (0.0, 0.5)
    assert demand(FRAMES, state(32, "wt", TagFacts())).beyond_marked == 0.0


def test_the_chipset_s_own_limit_counts() -> None:
    assert demand(FRAMES, state(32, "wt", TagFacts(limit_mb=16.0))).beyond == pytest.approx(0.5)


def test_more_memory_than_the_cache_reaches_is_slower_and_a_mark_in_the_tag_slower_still() -> None:
    inside, apart = time_of(state(32, "wt", TagFacts())), time_of(state(64, "wt", TagFacts()))
    assert 0.005 < apart - inside < 0.3
    own, in_tag = (time_of(state(32, "wb", TagFacts(marked=m))) for m in (False, True))
    assert 0.005 < in_tag - own < 0.3
    assert math.isfinite(time_of(state(4096, "wb", TagFacts(marked=True))))


def test_what_lies_beyond_is_said_in_words() -> None:
    assert range_words(state(32, "wt", TagFacts())) == ""
    assert range_words(state(64, "wt", TagFacts())).startswith("32 of 64 MB lie beyond the cacheable range")
    assert range_words(state(32, "wb", TagFacts())).startswith(
        "0 to 16 (by whether the dirty mark takes a bit"
    )
