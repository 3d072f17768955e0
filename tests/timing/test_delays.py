"""The data rows, their loader, and the small values around them."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from leadoff.record.errors import LeadoffError
from leadoff.timing import (
    Pattern,
    as_mhz,
    budget_terms,
    bus_ac,
    every_pattern,
    patterns,
    period_ns,
    sram_of_grade,
)
from leadoff.timing.delays import bus_family, worst_certainty


@pytest.mark.reference
def test_386_rows_read_in_the_manual() -> None:
    # Source: Intel386 DX Hardware Reference Manual 231732, section 6.3.3.5 p. 114 (read): 20 MHz, T21 = 11,
    # write data valid 38.
    row = bus_ac("386", 20)
    assert (row.data_setup_ns, row.write_data_valid_ns) == (11, 38)


@pytest.mark.reference
@pytest.mark.parametrize(("ns", "row"), [(8, (4.5, 7, 5)), (10, (5, 7, 5)), (12, (5, 8, 8)), (15, (7, 9, 9))])
def test_sram_rows_read_in_the_data_sheet(ns: float, row: tuple[float, float, float]) -> None:
    # Source: Cypress CY7C199 data sheet 38-05160 Rev *A p. 4 (read): tOE, tWP, tSD.
    found = sram_of_grade(ns)
    assert (found.toe_ns, found.twp_ns, found.tsd_ns) == row
    assert found.certainty == "read"


def test_every_row_says_where_it_comes_from() -> None:
    terms = budget_terms()
    rows = [
        *terms.term,
        *terms.sram,
        terms.silicon,
        terms.processor,
        terms.derating,
        terms.evidence,
        terms.report,
    ]
    rows += [
        bus_ac(f, c) for f in ("386", "486", "64bit") for c in ("16", "25", "100/3", "50", "200/3", "100")
    ]
    assert all(len(row.source) > 10 for row in rows)
    assert {row.certainty for row in rows} <= {"read", "memory", "practice", "judgement"}


def test_typed_33_33_is_the_row_and_between_is_a_judgement() -> None:
    assert bus_ac("486", 33.33) == bus_ac("486", "100/3")
    assert bus_ac("486", 33.33).certainty == "memory"
    between = bus_ac("486", 45)
    assert between.certainty == "judgement"
    assert 12 < between.address_valid_ns < 14
    assert bus_ac("486", 66) == bus_ac("486", 50)
    assert bus_ac("486", 20) == bus_ac("486", 25)


@given(mhz=st.floats(50, 100))
@example(mhz=66.015625)  # a hundredth faster is a hair beyond the 66.67 MHz row
def test_delays_between_rows_fall_with_the_grade_and_meet_the_rows(mhz: float) -> None:
    names = ("address_valid_ns", "data_setup_ns", "ready_setup_ns", "write_data_valid_ns")
    for name in names:
        here, faster = getattr(bus_ac("64bit", mhz), name), getattr(bus_ac("64bit", mhz * 1.01), name)
        assert faster <= here + 1e-9
        assert here - faster < 0.2  # no step anywhere, the rows included


def test_names_of_a_bus() -> None:
    assert bus_family("Socket7").id == "64bit"
    assert bus_family("386SX").id == "386"
    with pytest.raises(
        LeadoffError, match=r"no bus family 'vax'; without its delays no budget can be added up"
    ):
        bus_family("vax")


def test_grades_outside_of_the_rows() -> None:
    assert sram_of_grade(35).certainty == "judgement"
    assert sram_of_grade(35).toe_ns == pytest.approx(14)
    assert sram_of_grade(6).taa_ns == pytest.approx(6)
    with pytest.raises(LeadoffError, match="2 ns is no grade of a cache SRAM; 5 to 150 ns is understood"):
        sram_of_grade(2)


@given(ns=st.floats(5, 140), more=st.floats(0, 10))
def test_a_slower_grade_is_slower_in_everything(ns: float, more: float) -> None:
    fast, slow = sram_of_grade(ns), sram_of_grade(ns + more)
    for name in ("taa_ns", "toe_ns", "twp_ns", "tsd_ns"):
        assert getattr(slow, name) >= getattr(fast, name) - 1e-9


def test_models_a_and_b_close_the_band() -> None:
    a, b = budget_terms().at_model("A"), budget_terms().at_model("B")
    assert [(t.lo_ns, t.hi_ns) for t in a.term] == [(0, 0), (12, 12), (8, 8), (1, 1)]
    assert [(t.lo_ns, t.hi_ns) for t in b.term] == [(7, 7), (12, 12), (10, 10), (2, 2)]


def test_certainty_is_that_of_the_weakest() -> None:
    assert worst_certainty("read", "memory") == "memory"
    assert worst_certainty("judgement", "read", "memory") == "judgement"


def test_clocks_as_typed() -> None:
    assert period_ns("100/3") == pytest.approx(30)
    assert as_mhz("66.67") == pytest.approx(66.67)
    for wrong in ("fast", 0, -5, float("nan"), "1/0"):
        with pytest.raises(LeadoffError, match="is not between 1 and 1000 MHz"):
            as_mhz(wrong)


def test_patterns_as_typed() -> None:
    assert Pattern.parse("3-2-2-2") == Pattern(3, 2)
    assert Pattern.parse("3").beats == 1
    assert Pattern(2, 1).text == "2-1-1-1"
    assert Pattern(2, 1).clocks == 5
    for wrong in ("", "2-1-2-1", "x-1-1-1", "0-1-1-1"):
        with pytest.raises(LeadoffError, match="is not a lead-off followed by equal beats"):
            Pattern.parse(wrong)


def test_default_patterns_fastest_first() -> None:
    found = patterns(bus_family="486", clock_mhz=33, sram_ns=15)
    assert [v.pattern for v in found] == [
        "2-1-1-1", "3-1-1-1", "4-1-1-1", "2-2-2-2", "3-2-2-2", "4-2-2-2", "3-3-3-3", "4-3-3-3",
    ]  # fmt: skip
    assert [p.text for p in every_pattern((2, 3), (1, 2))] == ["2-1-1-1", "3-1-1-1", "2-2-2-2", "3-2-2-2"]


def test_chipset_that_offers_two_patterns_gets_two_verdicts() -> None:
    found = patterns(bus_family="486", clock_mhz=33, sram_ns=15, expressible=[Pattern(3, 2), Pattern(2, 2)])
    assert [v.pattern for v in found] == ["2-2-2-2", "3-2-2-2"]


def test_three_banks_are_refused() -> None:
    with pytest.raises(
        LeadoffError, match="3 banks, 15 ns tag: 1, 2 or 4 banks and 1 to 200 ns are understood"
    ):
        patterns(bus_family="486", clock_mhz=33, sram_ns=15, banks=3)


def test_import_stays_light() -> None:
    code = "import sys, leadoff.timing, leadoff.electrical; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
