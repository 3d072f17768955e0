"""Where the time of one unit of work goes: the parts add up, and each goes where its cause goes."""

from __future__ import annotations

import pytest
from makers import FRAMES, seen, setup, sheet

from leadoff.forecast.facts import Setup
from leadoff.forecast.fit import collect, fit
from leadoff.forecast.joint import Ask, tell
from leadoff.forecast.split import PARTS, Part, time_split
from leadoff.show.charts.time_split import time_split as chart

BOARD = sheet("quay-1", "486vlb", buses=("vlb", "isa"))
HERE = {
    "bus_mhz": "100/3", "ratio": "2", "cpu": "486dx2-66", "l1": "on", "l1_policy": "wt", "l2": "on", "l2_kb": "256",
    "l2_policy": "wb", "l2_read": "3-2-2-2", "dram_read": "4-3-3-3", "dram_write_ws": "1", "refresh": "normal",
    "video_bus": "vlb", "vlb_ws": "0",
}  # fmt: skip


def state(**change: str | None) -> Setup:
    return setup({**HERE, **change}, BOARD)  # type: ignore[arg-type]


def parts(target: Setup) -> dict[str, Part]:
    made = fit(collect((FRAMES,), (seen(state(), "13.6"), seen(state(ratio="3"), "18.9", number="2"))))
    return {p.part: p for p in time_split(tell(made, [Ask(FRAMES, target)], "quay-1"), 0)}


def test_parts_add_up_and_lie_in_their_bands() -> None:
    found = parts(state())
    assert tuple(found) == PARTS
    assert sum(p.pct for p in found.values()) == pytest.approx(100.0, abs=1e-9)
    assert all(0.0 <= p.lo <= p.pct <= p.hi <= 100.0 for p in found.values())
    assert found["core"].hi - found["core"].lo > 2.0  # two runs do not tell the core's share to a percent


@pytest.mark.parametrize(
    ("part", "change"),
    [
        ("video", {"vlb_ws": "1"}),
        ("store", {"dram_write_ws": "2", "l2_policy": "wt"}),
        ("memory", {"dram_read": "5-3-3-3"}),
        ("cache", {"l2_read": "3-3-3-3"}),
        ("core", {"refresh": "slow"}),
        ("resident", {"profile": "full"}),
    ],
)
def test_what_gets_slower_takes_a_larger_part(part: str, change: dict[str, str]) -> None:
    assert parts(state(**change))[part].pct > parts(state())[part].pct


def test_slow_refresh_takes_a_quarter_of_the_time() -> None:
    """Common practice, no source: slow refresh comes a quarter as often."""
    ratio = parts(state(refresh="slow"))["refresh"].pct / parts(state())["refresh"].pct
    assert ratio == pytest.approx(0.25, abs=0.01)


def test_the_picture_has_a_bar_for_each_part_that_shows() -> None:
    found = parts(state())
    rows = [{"part": p.part, "pct": p.pct, "lo": p.lo, "hi": p.hi} for p in found.values()]
    spec = chart(rows, title="13.6 frames/s")
    values = spec["data"]["values"]
    assert len(values) == sum(p.pct >= 0.5 for p in found.values())
    assert values[0]["said"].startswith("core:")
