"""Clocks are exact fractions, each with its source; a clock nobody can know says so."""

from __future__ import annotations

from fractions import Fraction

import pytest
from board_texts import LEVER, board, part
from hypothesis import given
from hypothesis import strategies as st

from leadoff.machine.clocks import Clock, clocks
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.quantity import Source
from leadoff.record.state import Setting, State, Status

BUSES = ("pci", "isa", "vlb", "agp")


def known(value: str, status: Status = Status.KNOWN, source: Source = Source.DECLARED) -> Setting:
    return Setting(value=value, status=status, source=source)


def made(
    sheet: BoardSheet | None = None, part: Processor | None = None, **values: str | Setting
) -> dict[str, Clock]:
    sheet = sheet or BoardSheet(id="x", board_class="486", buses=BUSES)
    given_ = {n: v if isinstance(v, Setting) else known(v) for n, v in values.items()}
    return clocks(State(board="x", settings=given_), sheet, part)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("ratio", "bus", "core"),
    [
        ("3", "67/2", Fraction(201, 2)),
        ("4", "40", Fraction(160)),
        ("3", "50", Fraction(150)),
        ("4", "100/3", Fraction(400, 3)),
        ("5/2", "200/3", Fraction(500, 3)),
        ("7/4", "200/3", Fraction(350, 3)),
        ("11/2", "124", Fraction(682)),
    ],
)
def test_core_is_bus_times_ratio(ratio: str, bus: str, core: Fraction) -> None:
    """Common practice, no source: 3 x 33.5 is 100.5; 4 x 40 is 160, 3 x 50 is 150, 4 x 33.33 is 133.33."""
    found = made(ratio=ratio, bus_mhz=bus)["core_mhz"]
    assert (found.mhz, found.source) == (core, Source.COMPUTED)


@given(st.fractions(4, 250, max_denominator=12), st.fractions(1, 15, max_denominator=4), st.integers(1, 6))
def test_clocks_scale_exactly_with_the_bus(bus: Fraction, ratio: Fraction, by: int) -> None:
    sheet = BoardSheet(
        id="x", board_class="486", buses=BUSES, dividers={b: {"*": f"1/{by}"} for b in ("pci", "isa", "agp")}
    )
    one = made(sheet, bus_mhz=str(bus), ratio=str(ratio))
    two = made(sheet, bus_mhz=str(bus * Fraction(7, 5)), ratio=str(ratio))
    assert one["core_mhz"].mhz == bus * ratio
    assert one["vlb_mhz"].mhz == bus
    assert one["pci_mhz"].mhz == bus / by
    assert {n: c.mhz * Fraction(7, 5) for n, c in one.items() if c.mhz} == {n: c.mhz for n, c in two.items()}


def test_unknown_bus_or_ratio_leaves_clocks_unknown_and_says_why() -> None:
    nothing = made()
    assert {c.mhz for c in nothing.values()} == {None}
    assert all(c.source is Source.UNKNOWN and c.why for c in nothing.values())
    assert nothing["core_mhz"].quantity().value is None


def test_a_bus_without_a_ratio_on_the_sheet_says_so() -> None:
    found = made(bus_mhz="40", ratio="2")
    assert found["vlb_mhz"].mhz == 40
    assert found["pci_mhz"].mhz is None
    assert "no PCI ratio" in found["pci_mhz"].why


@pytest.mark.parametrize(
    ("bus", "pci", "source"),
    [
        ("100", Fraction(100, 3), Source.COMPUTED),
        ("400/3", Fraction(100, 3), Source.COMPUTED),
        ("499/5", Fraction(499, 15), Source.COMPUTED),  # a counter's 99.8 is the row of 100
        ("124", Fraction(124, 3), Source.ASSUMED),  # between two rows: as at the lower one, and said so
        ("66", None, Source.UNKNOWN),  # below the lowest row nothing is known
    ],
)
def test_dividers_by_bus_clock(bus: str, pci: Fraction | None, source: Source) -> None:
    sheet = BoardSheet(
        id="x", board_class="slot1", buses=("pci",), dividers={"pci": {"100": "1/3", "400/3": "1/4"}}
    )
    found = made(sheet, bus_mhz=bus)["pci_mhz"]
    assert (found.mhz, found.source) == (pci, source)
    assert source is not Source.ASSUMED or "gives no PCI ratio for 124" in found.why


def test_the_row_for_all_counts_where_no_other_does() -> None:
    sheet = BoardSheet(
        id="x", board_class="slot1", buses=("pci",), dividers={"pci": {"*": "1/3", "400/3": "1/4"}}
    )
    assert made(sheet, bus_mhz="124")["pci_mhz"].mhz == Fraction(124, 3)
    assert made(sheet, bus_mhz="400/3")["pci_mhz"].mhz == Fraction(100, 3)


def test_a_ratio_set_wins_over_the_sheet_and_a_clock_of_its_own_over_both() -> None:
    sheet = BoardSheet(id="x", board_class="486", buses=("pci",), dividers={"pci": {"*": "1/2"}})
    assert made(sheet, bus_mhz="40", pci_ratio="1")["pci_mhz"].mhz == 40
    assert made(sheet, bus_mhz="40", pci_ratio="1", pci_mhz="100/3")["pci_mhz"].mhz == Fraction(100, 3)


def test_a_measured_clock_is_believed_before_a_computed_one() -> None:
    seen = made(bus_mhz="40", ratio="3", core_mhz=known("601/5", source=Source.MEASURED))["core_mhz"]
    assert (seen.mhz, seen.source) == (Fraction(601, 5), Source.MEASURED)


@pytest.mark.parametrize("status", [Status.ASSUMED, Status.DISPUTED])
@pytest.mark.parametrize("doubtful", ["bus_mhz", "ratio", "pci_ratio"])
def test_what_rests_on_an_assumption_is_assumed(status: Status, doubtful: str) -> None:
    values: dict[str, str | Setting] = {"bus_mhz": "40", "ratio": "3", "pci_ratio": "1/2"}
    values[doubtful] = known(str(values[doubtful]), status)
    found = made(**values)
    rests = {"bus_mhz": ("core_mhz", "pci_mhz", "vlb_mhz"), "ratio": ("core_mhz",), "pci_ratio": ("pci_mhz",)}
    for name in rests[doubtful]:
        assert found[name].source is Source.ASSUMED, name


@pytest.mark.reference
def test_cache_on_a_cartridge_runs_at_half_the_core() -> None:
    """First Slot 1 parts: cache at half the core clock (data sheet of the part, in the catalogue)."""
    fitted = part("slot1-550-2v0-streaming")
    assert made(part=fitted, bus_mhz="124", ratio="11/2")["l2_mhz"].mhz == 341


def test_only_buses_of_the_board_have_clocks() -> None:
    fold = board(LEVER)
    found = clocks(fold.state(part("p54c-133-3v3")), fold.sheet, part("p54c-133-3v3"))
    assert set(found) == {"core_mhz", "bus_mhz", "pci_mhz", "isa_mhz"}
    assert found["isa_mhz"].mhz == Fraction(25, 3)
