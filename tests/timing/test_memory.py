"""DRAM and SDRAM patterns against published boards and modules."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leadoff.record.errors import LeadoffError
from leadoff.timing import (
    DramDelays,
    Pattern,
    additive,
    cas_limits,
    clocks_for,
    dram_adds,
    page_hits,
    period_ns,
    sdram_clocks,
    sdram_totals,
)

# Source: Micron MT4/8LDT(4)864 SODIMM data sheet, Rev 2/99, key timing parameters (read; EDO tRP from
# memory).
EDO_60 = DramDelays(kind="edo", trac_ns=60, tcac_ns=15, taa_ns=30, cycle_ns=25, trp_ns=40)
FPM_60 = DramDelays(kind="fpm", trac_ns=60, tcac_ns=15, taa_ns=30, cycle_ns=35, trp_ns=40)
EDO_50 = DramDelays(kind="edo", trac_ns=50, tcac_ns=13, taa_ns=25, cycle_ns=20, trp_ns=30)
# From memory: 4 Mbit-class data sheets.
FPM_70 = DramDelays(kind="fpm", trac_ns=70, tcac_ns=20, taa_ns=35, cycle_ns=45, trp_ns=50)
SIXTY_SIX = "200/3"


@pytest.mark.reference
def test_additive_rule_of_an_edo_board() -> None:
    # Source: HP Vectra VL 5/xxx Series 5 technical reference p. 24 (read): EDO at 66 MHz 5-2-2-2 / 8-2-2-2
    # / 11-2-2-2.
    adds = dram_adds(clock_mhz=SIXTY_SIX, dram=EDO_60)
    assert (adds.beat, adds.rcd, adds.rp) == (2, 3, 3)
    told = additive(Pattern(5, adds.beat), rcd=adds.rcd, rp=adds.rp)
    assert [p.text for p in told] == ["5-2-2-2", "8-2-2-2", "11-2-2-2"]
    (verdict,) = page_hits(bus="64bit", clock_mhz=SIXTY_SIX, dram=EDO_60, expressible=[Pattern(5, 2)])
    assert verdict.inside_max is True


@pytest.mark.reference
def test_additive_rule_of_a_430fx_class_board() -> None:
    # Source: Intel 82430FX data sheet 290518: 7/9/12 (totals from memory), RAS-to-CAS 2 or 3 clocks and
    # precharge 3 (register encodings, read in Ralf Brown's Interrupt List table 01117); beats x222 EDO,
    # x333 fast page.
    edo, fpm = dram_adds(clock_mhz=SIXTY_SIX, dram=EDO_60), dram_adds(clock_mhz=SIXTY_SIX, dram=FPM_60)
    assert (edo.beat, fpm.beat, dram_adds(clock_mhz=SIXTY_SIX, dram=FPM_70).beat) == (2, 3, 3)
    assert [p.lead for p in additive(Pattern(7, 2), rcd=2, rp=edo.rp)] == [7, 9, 12]


@pytest.mark.reference
def test_precharge_clocks_by_grade() -> None:
    # Source: AMD-640 register bits in Ralf Brown's Interrupt List table 00995 (read): precharge 2T for a 50
    # ns part, 3T for 60, 4T for 70, on a 66 MHz bus.
    assert [dram_adds(clock_mhz=SIXTY_SIX, dram=d).rp for d in (EDO_50, EDO_60, FPM_70)] == [2, 3, 4]


@pytest.mark.reference
def test_interleaved_fast_page_design_at_33_mhz() -> None:
    # Source: Intel i486 memory subsystem paper, abstract (read): page hit 3-1-1-1, page miss 7-1-1-1 at 33
    # MHz with interleaved fast-page memory; manual 273025 section 5.2.4.1: without interleave tPC forbids
    # 0-wait bursts. The grade is not in the abstract; 60 ns is taken.
    adds = dram_adds(clock_mhz="100/3", dram=FPM_60, ways=2)
    hit, _, miss = additive(Pattern(3, adds.beat), rcd=adds.rcd, rp=adds.rp)
    assert (hit.text, miss.text) == ("3-1-1-1", "7-1-1-1")
    assert dram_adds(clock_mhz="100/3", dram=FPM_60, ways=1).beat == 2
    (told,) = page_hits(bus="486", clock_mhz="100/3", dram=FPM_60, ways=2, expressible=[Pattern(3, 1)])
    assert told.inside_max is True
    (alone,) = page_hits(bus="486", clock_mhz="100/3", dram=FPM_60, ways=1, expressible=[Pattern(3, 1)])
    assert (alone.inside_max, alone.binding) == (False, "beat")


@pytest.mark.reference
def test_sdram_clocks_of_a_pc100_module() -> None:
    # Source: Elpida HB52R1289E22 data sheet p. 13 (read): tRCD 20, tRP 20 ns: 2 clocks at 66 and at 100 MHz.
    for mhz in (SIXTY_SIX, "100", 66.67, 66.66):
        found = sdram_clocks(clock_mhz=mhz, trcd_ns=20, trp_ns=20)
        assert (found.rcd, found.rp) == (2, 2)
    # 30 ns is 2 clocks at 66 and 3 at 100 (fact sheet section 5, derived).
    assert [clocks_for(30, f) for f in (SIXTY_SIX, 66.67, "100")] == [2, 2, 3]


@pytest.mark.reference
def test_module_that_is_cl3_only_at_100() -> None:
    # Source: IBM 13T16644NPA data sheet p. 5 (read): shortest period 10.0 ns at CL3, 15.0 ns at CL2.
    module = {3: 10.0, 2: 15.0}
    assert [v.cl for v in cas_limits(clock_mhz=100, tck_ns_by_cl=module) if v.inside] == [3]
    assert [v.cl for v in cas_limits(clock_mhz=SIXTY_SIX, tck_ns_by_cl=module) if v.inside] == [2, 3]
    assert [v.cl for v in cas_limits(clock_mhz=66.67, tck_ns_by_cl=module) if v.inside] == [2, 3]


@pytest.mark.reference
def test_module_that_is_cl2_at_100() -> None:
    # Source: Transcend TS8MLS64V8C2 presence-detect dump (read): bytes 9 and 23 both A0h, 10.0 ns at CL3
    # and CL2.
    assert all(v.inside for v in cas_limits(clock_mhz=100, tck_ns_by_cl={3: 10.0, 2: 10.0}))


def test_memory_periods_of_8_ns_parts_above_100() -> None:
    # Scenario D, invented board: 8.06 ns at 124 MHz is inside at CL3, 7.5 ns at 133 is beyond.
    (at_124,) = cas_limits(clock_mhz=124, tck_ns_by_cl={3: 8.0})
    assert at_124.period_ns == pytest.approx(8.06, abs=0.005)
    assert at_124.inside
    (at_133,) = cas_limits(clock_mhz="400/3", tck_ns_by_cl={3: 8.0})
    assert at_133.period_ns == pytest.approx(7.5)
    assert at_133.slack_ns == pytest.approx(-0.5)
    assert not at_133.inside


def test_sdram_totals_add_up() -> None:
    clocks = sdram_clocks(clock_mhz=100, trcd_ns=20, trp_ns=20)
    assert sdram_totals(controller_clocks=5, cl=2, clocks=clocks) == (7, 9, 11)
    with pytest.raises(LeadoffError, match="0 controller clocks and CAS latency 2: both are at least 1"):
        sdram_totals(controller_clocks=0, cl=2, clocks=clocks)


@given(ns=st.floats(0, 200), more=st.floats(0, 50), mhz=st.floats(4, 150), faster=st.floats(0, 50))
def test_clocks_cover_the_time_and_never_shrink(ns: float, more: float, mhz: float, faster: float) -> None:
    n = clocks_for(ns, mhz)
    assert (n + 0.003) * period_ns(mhz) >= ns
    assert n == 0 or (n - 1) * period_ns(mhz) < ns
    assert clocks_for(ns + more, mhz) >= n
    assert clocks_for(ns, mhz + faster) >= n


@given(mhz=st.floats(4, 140), faster=st.floats(0, 10), limit=st.floats(5, 20))
def test_a_faster_clock_never_brings_a_latency_inside(mhz: float, faster: float, limit: float) -> None:
    (slow,) = cas_limits(clock_mhz=mhz, tck_ns_by_cl={2: limit})
    (fast,) = cas_limits(clock_mhz=mhz + faster, tck_ns_by_cl={2: limit})
    assert slow.inside or not fast.inside


def test_mistakes_are_named() -> None:
    with pytest.raises(LeadoffError, match="is no table of CAS latency"):
        cas_limits(clock_mhz=100, tck_ns_by_cl={})
    with pytest.raises(LeadoffError, match="3 interleaved banks: 1, 2 and 4 are understood"):
        dram_adds(clock_mhz=33, dram=FPM_60, ways=3)
    with pytest.raises(LeadoffError, match="rcd -1 and rp 2 clocks: a step takes time"):
        additive(Pattern(5, 2), rcd=-1, rp=2)
