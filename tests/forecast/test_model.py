"""The score model: derivatives, identity, signs, and what a published figure says of a write wait state."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import FRAMES, scaled, setup, sheet

from leadoff.forecast.datum import data
from leadoff.forecast.facts import Setup
from leadoff.forecast.fit import collect, features, fit
from leadoff.forecast.geometry import FIELDS, Gap, demand
from leadoff.forecast.priors import COLUMNS, centres, priors
from leadoff.forecast.terms import check_columns, log_time, log_time_only
from leadoff.machine.partfacts import Processor

I486 = Processor(id="486dx-33", core="486dx", rated_mhz=Fraction(100, 3), l1_kb=8, fpu=True)
P54 = Processor(id="p54c-133", core="p54c", rated_mhz=Fraction(400, 3), l1_kb=16, fpu=True)
I386 = Processor(id="386dx-40", core="386dx", rated_mhz=Fraction(40), l1_kb=0, fpu=False)
P6 = Processor(
    id="slot1-400",
    core="deschutes",
    locked=Fraction(4),
    l1_kb=32,
    l2_kb=512,
    l2_clock=Fraction(1, 2),
    fpu=True,
)

VLB = sheet("quay-1", "486vlb", buses=("vlb", "isa"))
SEVEN = sheet("quay-7", "socket7", buses=("pci", "isa"), dividers={"pci": {"*": "1/2"}, "isa": {"*": "1/8"}})
OLD = sheet("quay-3", "386dx", buses=("isa",), dividers={"isa": {"*": "1/5"}})
SLOT = sheet("quay-9", "slot1", buses=("pci", "agp"), dividers={"pci": {"*": "1/3"}, "agp": {"*": "2/3"}})

BASE: dict[str, tuple[dict[str, str | None], object, Processor]] = {
    "486": (
        {
            "bus_mhz": "100/3", "ratio": "1", "l1": "on", "l1_policy": "wt", "l2": "on", "l2_kb": "256",
            "l2_policy": "wb", "l2_read": "3-2-2-2", "l2_write_ws": "0", "dram_read": "4-3-3-3",
            "dram_write_ws": "0", "refresh": "normal", "video_bus": "vlb", "vlb_ws": "0",
        },
        VLB,
        I486,
    ),
    "socket7": (
        {
            "bus_mhz": "200/3", "ratio": "2", "l1": "on", "l1_policy": "wb", "l2": "on", "l2_kb": "256",
            "l2_policy": "wb", "l2_read": "3-2-2-2", "l2_write_ws": "0", "dram_read": "7-3-3-3",
            "dram_write_ws": "0", "refresh": "normal", "video_bus": "pci",
        },
        SEVEN,
        P54,
    ),
    "386": (
        {
            "bus_mhz": "40", "ratio": "1", "l2": "on", "l2_kb": "64", "l2_policy": "wt", "l2_read_ws": "0",
            "l2_write_ws": "0", "dram_read_ws": "1", "dram_write_ws": "0", "refresh": "normal", "video_bus": "isa",
        },
        OLD,
        I386,
    ),
    "slot1": ({"bus_mhz": "100", "ratio": "4", "cas": "3", "rcd": "3", "rp": "3", "video_bus": "agp"}, SLOT, P6),
}  # fmt: skip


def state(kind: str, **change: str | None) -> Setup:
    base, of, part = BASE[kind]
    return setup({**base, **change}, of, part)  # type: ignore[arg-type]


def centre(z: np.ndarray | None = None) -> dict[str, np.ndarray]:  # type: ignore[type-arg]
    sds = np.array([p.sd for p in priors()])
    at = centres() + (0.0 if z is None else sds * z)
    return {name: np.full((1, 1), at[k]) for k, name in enumerate(COLUMNS)}


def time_of(made: Setup, z: np.ndarray | None = None) -> float:  # type: ignore[type-arg]
    table = features([[getattr(demand(FRAMES, made), f) for f in FIELDS]])
    return float(log_time(centre(z), table)[0][0, 0])


@pytest.mark.parametrize("kind", list(BASE))
def test_derivatives_are_those_of_the_function(kind: str) -> None:
    rng = np.random.default_rng(7)
    z = 0.5 * rng.standard_normal(len(COLUMNS))
    table = features([[getattr(demand(FRAMES, state(kind, profile="full")), f) for f in FIELDS]])
    _, shares, grad = log_time(centre(z), table)
    assert check_columns(grad)
    assert float(sum(s[0, 0] for s in shares.values())) == pytest.approx(1.0, abs=1e-12)
    for name in COLUMNS:
        h = 1e-6
        up, down = centre(z), centre(z)
        up[name] = up[name] + h
        down[name] = down[name] - h
        slope = (log_time(up, table)[0] - log_time(down, table)[0])[0, 0] / (2 * h)
        assert grad[name][0, 0] == pytest.approx(slope, abs=2e-8), name


@settings(deadline=None, max_examples=60)
@given(
    kind=st.sampled_from(list(BASE)),
    k=st.fractions(Fraction(1, 3), Fraction(3)),
    seed=st.integers(0, 10_000),
)
def test_all_clocks_times_k_give_the_time_over_k(kind: str, k: Fraction, seed: int) -> None:
    """At fixed cycle counts, with every fixed rate scaled too, on unrounded numbers, wherever the fit stands."""
    z = np.random.default_rng(seed).standard_normal(len(COLUMNS))
    one = state(kind)
    d, e = demand(FRAMES, one), demand(FRAMES, scaled(one, k))
    row = {f: getattr(e, f) for f in FIELDS}
    row["video_fixed"] = d.video_fixed / float(k)  # the card's own rate is one of the fixed rates
    row["refresh"] = d.refresh  # and so is the interval between two refreshes
    row["ticks"] = d.ticks  # and the rate of interrupts
    a = log_time(centre(z), features([[getattr(d, f) for f in FIELDS]]))[0][0, 0]
    b = log_time(centre(z), features([[row[f] for f in FIELDS]]))[0][0, 0]
    assert float(np.exp(a - b)) == pytest.approx(float(k), rel=1e-12)


SIGNS = [
    ("486", {"l2_read": "2-1-1-1"}, -1),
    ("486", {"l2_write_ws": "1"}, 1),
    ("486", {"refresh": "slow"}, -1),
    ("486", {"vlb_ws": "1"}, 1),
    ("486", {"video_bus": "isa"}, 1),
    ("486", {"l1": "off"}, 1),
    ("486", {"l2": "off"}, 1),
    ("486", {"dram_read": "3-2-2-2"}, -1),
    ("486", {"l2_kb": "512"}, -1),
    ("socket7", {"l2_read": "3-1-1-1"}, -1),
    ("socket7", {"l2_write_ws": "1"}, 1),
    ("socket7", {"refresh": "slow"}, -1),
    ("socket7", {"video_bus": "isa"}, 1),
    ("socket7", {"dram_read": "5-2-2-2"}, -1),
    ("386", {"l2_read_ws": "1"}, 1),
    ("386", {"l2_write_ws": "1"}, 1),
    ("386", {"refresh": "slow"}, -1),
    ("386", {"dram_read_ws": "0"}, -1),
    ("386", {"l2_kb": "256"}, -1),
    ("slot1", {"cas": "2"}, -1),
    ("slot1", {"rcd": "2"}, -1),
    ("slot1", {"rp": "2"}, -1),
]


@pytest.mark.parametrize(("kind", "change", "sign"), SIGNS)
def test_each_setting_alone_moves_the_time_the_right_way(
    kind: str, change: dict[str, str], sign: int
) -> None:
    """Core clock unchanged. Common practice, no source, for the directions."""
    assert sign * (time_of(state(kind, **change)) - time_of(state(kind))) > 0.0


def test_core_designs_differ_at_one_clock() -> None:
    old = setup(BASE["486"][0], VLB, I486)  # type: ignore[arg-type]
    new = setup(BASE["486"][0], VLB, Processor(id="p24t", core="p54c", l1_kb=16, fpu=True))  # type: ignore[arg-type]
    assert time_of(new) < time_of(old)


@pytest.mark.reference
def test_a_write_wait_state_costs_six_percent_on_a_33_mhz_486() -> None:
    """HRM486 section 5.2.4.2, p. 145: about 6 % for each added write wait state (33 MHz, x1, write-through
    first-level cache); within two points."""
    cost = [
        100.0 * (time_of(state("486", l2_write_ws=str(n + 1))) - time_of(state("486", l2_write_ws=str(n))))
        for n in (0, 1)
    ]
    assert 4.0 <= float(np.mean(cost)) <= 8.0


def test_a_state_without_clocks_is_a_gap() -> None:
    with pytest.raises(Gap, match="core_mhz of the state is not known"):
        demand(FRAMES, setup({"bus_mhz": "40", "ratio": None}))


def test_every_class_has_a_demand_whatever_is_missing() -> None:
    for board_class in (
        "286",
        "386sx",
        "386dx",
        "486vlb",
        "486pci",
        "socket5",
        "socket7",
        "slot1",
        "socket370",
        "?",
    ):
        made = demand(FRAMES, setup({"bus_mhz": "33", "ratio": "1"}, sheet("quay-5", board_class)))
        assert all(np.isfinite([getattr(made, f) for f in FIELDS]))


def test_no_runs_no_fit_no_error() -> None:
    got = fit(collect((FRAMES,), ()))
    assert got.modes == ()
    assert data(FRAMES, ()) == ()


@pytest.mark.parametrize("kind", list(BASE))
def test_the_ranking_form_agrees_with_the_full_one(kind: str) -> None:
    z = 0.7 * np.random.default_rng(3).standard_normal(len(COLUMNS))
    for change in ({}, {"l2": "off"}, {"profile": "full", "write_combine": "on"}):
        table = features([[getattr(demand(FRAMES, state(kind, **change)), f) for f in FIELDS]])
        full = log_time(centre(z), table)[0]
        assert log_time_only(centre(z), table) == pytest.approx(full, abs=1e-12)
