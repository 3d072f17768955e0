"""Budgets against figures that makers published, and against what is usual on the bench."""

from __future__ import annotations

import pytest

from leadoff.record.errors import LeadoffError
from leadoff.timing import (
    BurstSram,
    Pattern,
    access_budget_ns,
    back_to_back,
    budget_terms,
    burst_patterns,
    fastest_inside,
    fastest_likely,
    fill_mb_per_s,
    patterns,
    writes,
)
from leadoff.timing.verdict import PatternVerdict

READ = Pattern.parse


def one(pattern: str, **given: object) -> PatternVerdict:
    return patterns(expressible=[READ(pattern)], **given)[0]  # type: ignore[arg-type]


@pytest.mark.reference
def test_zero_wait_states_at_33_mhz_need_15_ns() -> None:
    # Source: Intel Embedded Intel486 Processor Hardware Reference Manual 273025, section 9.1.1 p. 265 (read).
    assert one("2-1-1-1", bus_family="486", clock_mhz="100/3", sram_ns=15, banks=2).inside_max is True
    # One bank, address straight to the chips: 15 ns is the slowest usual grade that fits.
    direct = budget_terms().at_model("A")
    at = {"bus_family": "486", "clock_mhz": "100/3", "banks": 1, "terms": direct}
    assert one("2-1-1-1", sram_ns=15, **at).inside_max is True
    assert one("2-1-1-1", sram_ns=20, **at).inside_max is False


@pytest.mark.reference
@pytest.mark.parametrize(("mhz", "rate"), [("25", 80), ("100/3", 106.7), ("50", 160)])
def test_peak_fill_rate_of_the_486(mhz: str, rate: float) -> None:
    # Source: Intel486 DX data sheet 240440, front page (read): 80, 106 and 160 MB/s at 25, 33 and 50 MHz.
    assert fill_mb_per_s(line_bytes=16, pattern=READ("2-1-1-1"), clock_mhz=mhz) == pytest.approx(
        rate, abs=0.05
    )


@pytest.mark.reference
def test_memory_budget_of_a_386_at_20_mhz() -> None:
    # Source: Intel386 DX Hardware Reference Manual 231732, section 6.3.3.5 p. 114 (read): CLK2 period 25 ns;
    # tRAC <= 6 x 25 - 12 - 11 - 7 = 120; tCAC <= 100 - 6 - 12 - 11 - 7 = 64.
    assert access_budget_ns(clock_mhz=40, periods=6, delays_ns=[12, 11, 7]) == pytest.approx(120)
    assert access_budget_ns(clock_mhz=40, periods=4, delays_ns=[6, 12, 11, 7]) == pytest.approx(64)


@pytest.mark.reference
@pytest.mark.parametrize("mhz", ["60", "200/3"])
def test_asynchronous_sram_on_a_64_bit_bus(mhz: str) -> None:
    # Source: Intel 82430FX data sheet 290518 (from memory): asynchronous SRAM reads 3-2-2-2 at 60 and 66 MHz.
    found = patterns(bus_family="64bit", clock_mhz=mhz, sram_ns=15, banks=1)
    by = {v.pattern: v for v in found}
    assert by["3-2-2-2"].inside_max is not False
    assert all(v.inside_max is False for v in found if v.clocks < 9)
    best = fastest_inside(
        patterns(bus_family="64bit", clock_mhz=mhz, sram_ns=15, banks=1, terms=budget_terms().at_model("A"))
    )
    assert best is not None
    assert best.pattern == "3-2-2-2"


@pytest.mark.reference
def test_pipelined_burst_sram_is_3_1_1_1_at_66() -> None:
    # Source: HP Vectra VE 5/xxx Series 4 technical reference p. 19 (read): read and write 3-1-1-1, back to
    # back 3-1-1-1,1-1-1-1 with one bank and 3-1-1-1,2-1-1-1 with two. Chip figures 9 and 2.5 ns from
    # memory.
    chip = BurstSram(clock_to_data_ns=9, address_setup_ns=2.5, cycle_ns=15)
    (verdict,) = burst_patterns(clock_mhz="200/3", sram=chip, tag_ns=12)
    assert verdict.pattern == "3-1-1-1"
    assert verdict.inside_max is True
    assert back_to_back(1) == "3-1-1-1,1-1-1-1"
    assert back_to_back(2) == "3-1-1-1,2-1-1-1"


@pytest.mark.reference
@pytest.mark.parametrize("ns", [15, 20])
def test_50_mhz_wants_one_more_cache_wait_state_than_40(ns: float) -> None:
    # Common practice, no source.
    at = {"bus_family": "486", "sram_ns": ns, "banks": 2}
    at_40 = fastest_likely(patterns(clock_mhz=40, **at), 0.6)  # type: ignore[arg-type]
    at_50 = fastest_likely(patterns(clock_mhz=50, **at), 0.6)  # type: ignore[arg-type]
    assert at_40 is not None
    assert at_50 is not None
    assert READ(at_50.pattern).lead == READ(at_40.pattern).lead + 1


@pytest.mark.reference
def test_a_write_wait_state_is_usual_at_50() -> None:
    # Common practice, no source.
    at_40 = fastest_likely(writes(bus_family="486", clock_mhz=40, sram_ns=15), 0.6)
    at_50 = fastest_likely(writes(bus_family="486", clock_mhz=50, sram_ns=15), 0.6)
    assert at_40 is not None
    assert at_50 is not None
    assert (at_40.pattern, at_50.pattern) == ("2", "3")
    for ns in (10, 12, 15, 20):
        assert writes(bus_family="486", clock_mhz=50, sram_ns=ns)[0].inside_max is False


@pytest.mark.reference
def test_at_33_mhz_two_banks_reach_zero_wait_and_at_50_few_do() -> None:
    # Source: comp.sys.ibm.pc.hardware FAQ of the period (read in a stored copy).
    common = {"bus_family": "486", "sram_ns": 20, "banks": 2}
    chance_33 = one("2-1-1-1", clock_mhz="100/3", **common).chance_hold.value
    chance_50 = one("2-1-1-1", clock_mhz=50, **common).chance_hold.value
    assert chance_33 is not None
    assert chance_50 is not None
    assert chance_33 > 0.9
    assert chance_50 < 0.2


@pytest.mark.reference
def test_386_zero_wait_read_is_two_clocks() -> None:
    # Source: Intel386 SX data sheet 240187-008 (read): bus cycle of two clocks. A 386 has no burst, so
    # every beat is a whole cycle.
    found = patterns(bus_family="386", clock_mhz="100/3", sram_ns=25, tag_ns=15)
    assert [v.pattern for v in found] == ["2-2-2-2", "3-3-3-3", "4-4-4-4"]
    assert found[0].inside_max is not False
    assert patterns(bus_family="386", clock_mhz="100/3", sram_ns=45, tag_ns=15)[0].inside_max is False


def test_a_pattern_that_the_bus_cannot_run_is_refused() -> None:
    with pytest.raises(LeadoffError, match="on a 386 bus: 2 is the shortest, for every beat"):
        one("2-1-1-1", bus_family="386", clock_mhz=33, sram_ns=20)
    with pytest.raises(LeadoffError, match="a cycle of 1 clocks does not exist on a 486 bus"):
        one("1-1-1-1", bus_family="486", clock_mhz=33, sram_ns=20)


def test_a_pipelined_burst_part_has_no_lead_of_two() -> None:
    chip = BurstSram(clock_to_data_ns=9, address_setup_ns=2.5)
    with pytest.raises(LeadoffError, match="a pipelined part answers in clock 3"):
        burst_patterns(clock_mhz=60, sram=chip, tag_ns=12, expressible=[READ("2-1-1-1")])


def test_false_means_not_guaranteed_and_says_which_path() -> None:
    verdict = one("2-1-1-1", bus_family="486", clock_mhz=40, sram_ns=15, banks=2)
    assert verdict.inside_max == "within the band"
    assert verdict.marginal
    assert verdict.binding == "first tag"
    assert (verdict.slack_ns.lo, verdict.slack_ns.hi) == (pytest.approx(-5), pytest.approx(3))
    assert verdict.certainty == "memory"
    assert "tag chip taken as 15 ns like the data chips" in verdict.assumed


def test_a_tag_chip_with_its_own_comparator_is_sooner() -> None:
    given = {"bus_family": "486", "clock_mhz": 50, "sram_ns": 12, "banks": 2}
    plain, matched = one("2-1-1-1", tag_ns=12, **given), one("2-1-1-1", match_ns=12, **given)
    assert matched.slack_ns.value > plain.slack_ns.value  # type: ignore[operator]


def test_nothing_fits_is_none_and_not_the_last_one() -> None:
    found = patterns(bus_family="486", clock_mhz=50, sram_ns=70, banks=1)
    assert fastest_inside(found) is None
    assert fastest_likely(found, 0.9) is None
