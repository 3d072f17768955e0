"""What must hold in every row, whatever its source: laws of the trade and of arithmetic, over all parts.

Each test walks all rows of its kind and says how many it saw, so that none passes on an empty list.
"""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from leadoff.catalogue import Catalogue, CpuRow


def volts(row: CpuRow) -> list[float]:
    """The limits a row holds, lowest kind first."""
    return [v for v in (row.v_min, row.v_typ, row.v_max, row.v_abs) if v is not None]


# Volts -------------------------------------------------------------------------------------------------
# Nominal supplies that exist per family: common practice, and the project's sheet of ten facts (no. 1), itself
# from memory of the makers' data sheets.
NOMINAL = {
    "286": {5.0},
    "386": {
        5.0,
        3.3,
    },  # 3.3 V: the part whose code has a G, TI application report SRZA004 as described (source read)
    "486": {5.0, 4.0, 3.45, 3.3},
    "socket4": {5.0, 5.15},
    "socket5-7": {3.3, 3.5, 3.52, 3.2, 2.9, 2.8, 2.4, 2.3, 2.2},
    "slot1": {2.8, 2.05, 2.0, 1.7, 1.65, 1.6},
    "socket370": {1.65, 1.5},
}


@pytest.mark.reference
def test_nominal_volts_exist_in_the_family(ours: Catalogue) -> None:
    seen = 0
    for row in ours.cpus.values():
        seen += 1
        assert row.v_typ in NOMINAL[ours.core(row.core).family], row.id
    assert seen >= 80


def test_limits_of_volts_are_in_order_and_near_their_nominal(ours: Catalogue) -> None:
    ranges = absolutes = 0
    for row in ours.cpus.values():
        assert volts(row) == sorted(volts(row)), row.id
        assert row.v_typ is not None, row.id
        if row.v_min is not None and row.v_max is not None:
            ranges += 1
            assert row.v_min < row.v_max, row.id
            assert row.v_min >= 0.9 * row.v_typ - 1e-9, (
                row.id
            )  # 10 % is the widest tolerance of any 5 V or 3.3 V part
            assert row.v_max <= 1.1 * row.v_typ + 1e-9, row.id
        if row.v_abs is not None:
            absolutes += 1
            assert row.v_recommended_max is not None
            # Never below the recommended maximum, and not so far above that a red would come too late: the largest
            # published distance is 4.6 V over 3.6 V and 6.5 V over 5.25 V (memory).
            assert row.v_recommended_max < row.v_abs <= 1.35 * row.v_recommended_max, row.id
    assert ranges >= 80
    assert absolutes >= 30


@pytest.mark.parametrize(
    ("word", "typical"),
    # The row's own name says its volts: they agree with the figure (arithmetic of names, no source needed).
    [
        ("5v", 5.0),
        ("4v0", 4.0),
        ("3v45", 3.45),
        ("3v3", 3.3),
        ("3v52", 3.52),
        ("3v2", 3.2),
        ("2v9", 2.9),
        ("2v8", 2.8),
        ("2v4", 2.4),
        ("2v3", 2.3),
        ("2v2", 2.2),
        ("2v05", 2.05),
        ("2v0", 2.0),
        ("1v7", 1.7),
        ("1v65", 1.65),
        ("1v6", 1.6),
        ("1v5", 1.5),
    ],
)
def test_an_id_that_names_volts_has_them(ours: Catalogue, word: str, typical: float) -> None:
    named = [r for r in ours.cpus.values() if word in r.id.split("-") and "vre" not in r.id.split("-")]
    assert named
    for row in named:
        assert row.v_typ == typical, row.id


def test_the_higher_range_of_the_first_3_volt_64_bit_parts(ours: Catalogue) -> None:
    # Data sheet 241997, from memory: standard 3.135 to 3.6, VRE 3.40 to 3.60.
    rows = [r for r in ours.cpus.values() if r.core == "p54c"]
    assert len(rows) >= 12
    for row in rows:
        assert (row.v_min, row.v_max) == ((3.4, 3.6) if row.id.endswith("vre") else (3.135, 3.6)), row.id


def test_one_marking_at_two_volts_is_never_settled_by_a_name(ours: Catalogue) -> None:
    by_marking: dict[str, set[str]] = {}
    for row in ours.cpus.values():
        for marking in row.markings:
            by_marking.setdefault(marking, set()).add(row.id)
    shared = {m: ids for m, ids in by_marking.items() if len(ids) > 1}
    assert shared
    for marking, ids in shared.items():
        assert {r.id for r in ours.find_cpu(marking)} >= ids, marking


def test_no_id_is_a_name_that_other_volts_or_ratios_share(ours: Catalogue) -> None:
    # An id outranks a name: were "486sx-33" an id, the 3.3 V part of that name would never be asked about.
    shared = 0
    for row in ours.cpus.values():
        for other in ours.cpus.values():
            if row.id in other.names:
                shared += 1
                assert (row.v_typ, ours.ratios(row)) == (other.v_typ, ours.ratios(other)), (row.id, other.id)
    assert shared >= 5
    for name in ("486sx-33", "486sxl2-50", "486dx2-66", "486dx2-50"):
        assert {r.v_typ for r in ours.find_cpu(name)} == {5.0, 3.3}, name


@pytest.mark.reference
def test_the_g_code_of_the_386_pin_doubled_part_is_3_volt(ours: Catalogue) -> None:
    # TI application report SRZA004 as a bibliography describes it (source, read): 3.3 V core, inputs that bear 5 V.
    for marking in ("TI486SXL2-G50", "TI486SXL2-G66"):
        assert [r.v_typ for r in ours.find_cpu(marking)] == [3.3], marking
    assert {r.v_typ for r in ours.find_cpu("486sxl2-50")} == {5.0, 3.3}


# Ratios and clocks --------------------------------------------------------------------------------------
@pytest.mark.reference
def test_strap_tables_per_core_as_a_whole(ours: Catalogue) -> None:
    # One table a core, no more and no less: data sheets 241944, 19751, 241997, 243185, 20695, from memory; K5 table
    # 5-7 of manual 18524C and RBIL appendix B (register manual) read. The code letters follow ratio_pins.
    tables = {
        "486dx4": {"1": 3, "0": 2},
        "486dx4-wb": {"1": 3, "0": 2},
        "486dx4-second": {"1": 3, "0": 2},
        "486dx4-second-wb": {"1": 3, "0": 2},
        "x5": {"1": 3, "0": 4},
        "5x86-third": {"1": 3, "0": 2},
        "p54c": {"11": "3/2", "10": 2, "00": "5/2", "01": 3},
        "p55c": {"11": "7/2", "10": 2, "00": "5/2", "01": 3},
        "k5-m0": {"1": "3/2", "0": 2},
        "6x86": {"0": 2, "1": 3},
        "6x86l": {"0": 2, "1": 3},
        "6x86mx": {"00": "5/2", "01": 3, "10": 2, "11": "7/2"},
    }
    k6 = {"111": "7/2", "101": 3, "100": "5/2", "011": "11/2", "010": 4, "001": 5, "000": "9/2"}
    tables |= {core: k6 | {"110": 2} for core in ("k6-m6", "k6-m7", "k6-2")}
    tables |= {core: k6 | {"110": 6} for core in ("k6-2-late", "k6-3")}
    assert {c.id for c in ours.cores.values() if c.ratios} == set(tables)
    for core, table in tables.items():
        assert dict(ours.core(core).ratios) == {k: Fraction(v) for k, v in table.items()}, core


def test_ratios_are_whole_halves_or_quarters(ours: Catalogue) -> None:
    seen = 0
    for row in ours.cpus.values():
        for ratio in ours.ratios(row):
            seen += 1
            assert 1 <= ratio <= 10, row.id
            assert (ratio * 4).denominator == 1, row.id
    assert seen >= 150


def test_locked_ratio_gives_the_rated_clock(ours: Catalogue) -> None:
    locked = [r for r in ours.cpus.values() if r.locked is not None]
    assert len(locked) >= 30
    for row in locked:
        assert row.rated_mhz is not None
        assert row.rated_bus_mhz is not None
        assert row.rated_bus_mhz * row.locked == row.rated_mhz, row.id
        assert ours.core(row.core).family in ("slot1", "socket370"), row.id
        assert not row.ratios, row.id


def test_a_part_said_to_be_free_is_not_pinned_to_one_ratio(ours: Catalogue) -> None:
    # The first Slot 1 parts read straps at reset: a list with one ratio would be an invented lock.
    free = [r for r in ours.cpus.values() if r.core == "klamath"]
    assert len(free) == 3
    for row in free:
        assert (row.locked, ours.ratios(row)) == (None, ()), row.id


def test_rated_clock_over_rated_bus_is_a_ratio(ours: Catalogue) -> None:
    for row in ours.cpus.values():
        assert row.rated_mhz is not None
        assert row.rated_bus_mhz is not None, row.id
        ratio = row.rated_mhz / row.rated_bus_mhz
        assert (ratio * 4).denominator == 1, row.id
        assert 1 <= ratio <= 10, row.id


def test_bus_clocks_of_parts_and_boards_are_clocks_that_exist(ours: Catalogue) -> None:
    # An 83 that is not 250/3 or a 66 that is not 200/3 is a printed figure taken for a clock.
    exact = {c.mhz for c in ours.clocks.values()}
    for row in ours.cpus.values():
        assert row.rated_bus_mhz in exact, row.id
    boards = [(c.id, mhz) for c in ours.chipsets.values() for mhz in c.bus_mhz]
    assert len(boards) >= 30
    for chipset, mhz in boards:
        assert mhz in exact, chipset


@pytest.mark.reference
@pytest.mark.parametrize(
    ("row_id", "mhz"),
    # Clock under each rating, makers' data books (memory); 166+ and 200+ also in a dictionary entry (source read).
    [
        ("6x86-p120-3v52", Fraction(100)),
        ("6x86-p133-3v52", Fraction(110)),
        ("6x86-p150-3v52", Fraction(120)),
        ("6x86-p166-3v52", Fraction(400, 3)),
        ("6x86-p200-3v52", Fraction(150)),
        ("6x86mx-pr233-2v9", Fraction(375, 2)),
        ("6x86mx-pr266-2v9", Fraction(625, 3)),
        ("mii-333-2v9", Fraction(250)),
        ("mii-366-2v9", Fraction(250)),
        ("k5-pr120-3v52", Fraction(90)),
        ("k5-pr133-3v52", Fraction(100)),
        ("k5-pr150-3v52", Fraction(105)),
        ("k5-pr166-3v52", Fraction(350, 3)),
        ("k5-pr200-3v52", Fraction(400, 3)),
    ],
)
def test_a_rating_is_above_the_clock(ours: Catalogue, row_id: str, mhz: Fraction) -> None:
    row = ours.cpu(row_id)
    assert row.rated_mhz == mhz
    number = int("".join(c for c in row.rating if c.isdigit()))
    assert number > mhz


def test_a_rating_stands_wherever_the_name_is_not_the_clock(ours: Catalogue) -> None:
    rated = [r for r in ours.cpus.values() if r.rating]
    assert len(rated) >= 20
    plain = [r for r in ours.cpus.values() if r.rated_mhz is not None and not r.rating]
    for row in plain:
        # Printed megahertz are cut or rounded to a whole number, never more than one off.
        printed = {int(d) for n in row.names for d in n.replace("-", " ").split() if d.isdigit()}
        if printed:
            assert any(abs(p - row.rated_mhz) < 1 for p in printed), row.id


# Caches ------------------------------------------------------------------------------------------------
def test_first_level_sizes_add_up_and_are_powers_of_two(ours: Catalogue) -> None:
    for core in ours.cores.values():
        assert core.l1_kb is not None, core.id
        if core.l1_code_kb is not None and core.l1_data_kb is not None:
            assert core.l1_code_kb + core.l1_data_kb == core.l1_kb, core.id
        sizes = [k for k in (core.l1_code_kb, core.l1_data_kb) if k is not None] or [core.l1_kb]
        for kb in sizes:
            assert kb == 0 or kb & (kb - 1) == 0, core.id
        assert (core.l1_kb == 0) == (core.l1_policy == "none"), core.id


def test_policy_follows_make_and_age(ours: Catalogue) -> None:
    # 64-bit parts write back; a 486 writes through unless a pin or register chooses; a 286 or 386 has none, the
    # 386-pin 486 writes through (sheet of ten facts no. 5, from memory; P54C: board manual, source read).
    for core in ours.cores.values():
        allowed = {
            "286": {"none"},
            "386": {"none", "wt"},
            "486": {"wt", "wt-or-wb"},
        }.get(core.family, {"wb"})
        assert core.l1_policy in allowed, core.id


def test_line_is_16_bytes_on_a_32_bit_bus_and_32_on_a_64_bit_bus(ours: Catalogue) -> None:
    # 486 hardware reference manual 273025 p. 268 (source read); four beats fill a line.
    seen = 0
    for core in ours.cores.values():
        if core.l1_line_bytes is not None and core.bus_bits is not None and core.family not in ("286", "386"):
            seen += 1
            assert core.l1_line_bytes * 8 == 4 * core.bus_bits, core.id
    assert seen >= 30


def test_second_level_on_the_part(ours: Catalogue) -> None:
    # 512 KB on a cartridge at half the clock, 128 or 256 KB on the die at the clock: sheet of ten facts no. 5.
    seen = 0
    for row in ours.cpus.values():
        if row.l2_kb:
            seen += 1
            assert row.l2_per_core == (Fraction(1, 2) if row.l2_kb == 512 else 1), row.id
            assert row.l2_kb in (128, 256, 512), row.id
    assert seen >= 35


def test_memory_that_a_cache_covers_is_within_what_the_part_addresses(ours: Catalogue) -> None:
    for row in ours.cpus.values():
        bits = ours.core(row.core).address_bits
        if row.l2_cacheable_mb is not None and bits is not None:
            assert row.l2_cacheable_mb in (512, 4096), row.id
            assert row.l2_cacheable_mb <= 2**bits // 2**20, row.id


# Current and heat --------------------------------------------------------------------------------------
def test_watts_are_about_amperes_times_volts_in_every_row(ours: Catalogue) -> None:
    # No core is left out. Published maxima of the two are taken at different loads: 30 % is a slip, less is not.
    seen = 0
    for row in ours.cpus.values():
        if row.amps and row.watts and row.v_typ:
            seen += 1
            assert row.watts == pytest.approx(row.amps * (row.watts_at_v or row.v_typ), rel=0.3), row.id
        if row.watts and row.watts_typ:
            assert row.watts_typ <= row.watts, row.id
    assert seen >= 25


def test_power_grows_with_clock_among_equal_cores_and_volts(ours: Catalogue) -> None:
    groups: dict[tuple[str, float | None], list[CpuRow]] = {}
    for row in ours.cpus.values():
        if row.amps is not None:
            groups.setdefault((row.core, row.v_typ), []).append(row)
    for key, rows in groups.items():
        if key[0] in ("p54c", "486dx"):  # a shrink in the middle of the range made faster parts draw less
            continue
        by_clock = sorted(rows, key=lambda r: r.rated_mhz or 0)
        assert [r.amps for r in by_clock] == sorted(r.amps or 0 for r in rows), key


def test_case_limits(ours: Catalogue) -> None:
    # 60 to 100 C is usual. One grade of one part is below it: 55 C for the quadrupled part of grade W (data sheet,
    # table 21, source read).
    seen = 0
    for row in ours.cpus.values():
        if row.case_max_c is not None:
            seen += 1
            low = 55 if row.id == "x5-133-3v45-case55" else 60
            assert low <= row.case_max_c <= 100, row.id
    assert seen >= 50


# Buses, DMA, chipset classes -----------------------------------------------------------------------------
@pytest.mark.reference
def test_local_bus_loads_and_limit_agree(ours: Catalogue) -> None:
    # Common practice, no source: 3 cards at 33 MHz, 2 at 40, 1 at 50. An almanac (source read, secondary) gives 3, 1
    # to 3, 1 to 2. The limit is the last clock at which a card is trusted, so no clock inside it has no card.
    vlb = ours.bus_limit("vlb")
    assert dict(vlb.loads_by_mhz) == {"33.33": 3, "40": 2, "50": 1}
    assert vlb.max_mhz == max(Fraction(m) for m in vlb.loads_by_mhz) == 50
    counts = [n for _, n in sorted((Fraction(m), n) for m, n in vlb.loads_by_mhz.items())]
    assert counts == sorted(counts, reverse=True)
    assert vlb.certainty("max_mhz") == "practice"


def test_bus_limits_are_exact(ours: Catalogue) -> None:
    # PCI specification 2.1 (30 ns), AGP specification 1.0, from memory; ISA: 33.33 / 4 = 25 / 3 (82380AB dividers).
    assert ours.bus_limit("pci").max_mhz == Fraction(1000, 30)
    assert ours.bus_limit("agp").max_mhz == 2 * Fraction(1000, 30)
    assert ours.bus_limit("isa").max_mhz == Fraction(1000, 30) / 4


def test_only_isa_has_a_reach_of_16_mb(ours: Catalogue) -> None:
    for bus in ours.buses.values():
        expected = 2**24 // 2**20 if bus.bus == "isa" else None
        assert (bus.master_reach_mb, bus.dma_reach_mb) == (expected, expected), bus.id


def test_dividers_of_a_class_keep_pci_and_agp_inside_at_some_choice(ours: Catalogue) -> None:
    # Up to the fastest bus clock a class is sold for: its own smallest clock of PCI and AGP must be inside 33.33 and
    # 66.67. (0.5 MHz: printed 33 and 66.)
    seen = 0
    for row in ours.chipsets.values():
        if not row.bus_mhz:
            continue
        top = max(row.bus_mhz)
        for dividers, limit in ((row.pci_dividers, Fraction(100, 3)), (row.agp_dividers, Fraction(200, 3))):
            if dividers:
                seen += 1
                assert top / max(dividers) <= limit + Fraction(1, 2), row.id
    assert seen >= 12


def test_cacheable_limits_follow_from_tags(ours: Catalogue) -> None:
    # size x 2^tag at 256 KB: 8 bits 64 MB, 11 bits 512 MB; a fixed limit of a class never exceeds what its widest tag
    # gives at its largest cache. Sheet of timing facts 3d; 01112 bit 2 of the register manual (read).
    seen = 0
    for row in ours.chipsets.values():
        for tag, mb in row.cacheable_mb_by_tag.items():
            seen += 1
            assert mb == 256 * 2 ** int(tag) // 1024, row.id
        if row.cacheable_mb is not None and row.tag_modes and row.l2_kb:
            seen += 1
            widest = max(m.tag for m in row.tag_modes)
            assert row.cacheable_mb <= max(row.l2_kb) * 2**widest // 1024, row.id
        if row.cacheable_mb is not None and row.max_mb is not None:
            assert row.cacheable_mb <= row.max_mb, row.id
    assert seen >= 7


def test_write_through_takes_no_dirty_bit(ours: Catalogue) -> None:
    seen = 0
    for row in ours.chipsets.values():
        for mode in row.tag_modes:
            seen += 1
            assert mode.policy in row.l2_policies or not row.l2_policies, row.id
            if mode.policy == "wt":
                assert mode.dirty == 0, row.id
            assert 7 <= mode.tag <= 11, row.id
    assert seen >= 20


# Chips ---------------------------------------------------------------------------------------------------
def test_sram_pins_follow_depth_and_times_follow_grade(ours: Catalogue) -> None:
    # JEDEC pinouts: 8Kx8 and 32Kx8 have 28 pins, 64Kx8 and 128Kx8 have 32 (W24257A, W24512A, CY7C109 data sheets,
    # sources read; 8Kx8 memory).
    pins = {8192: 28, 32768: 28, 65536: 32, 131072: 32}
    rows = [r for r in ours.srams.values() if r.kind == "async"]
    assert len(rows) >= 15
    for row in rows:
        assert row.pins == pins[row.depth], row.id
        assert row.bits == 8, row.id
        assert row.t_aa_ns == row.ns, row.id
        if row.t_oe_ns is not None:
            assert row.t_oe_ns < row.t_aa_ns, row.id
        if row.t_wp_ns is not None:
            assert row.t_wp_ns < row.t_aa_ns, row.id


@pytest.mark.parametrize(
    ("cache_kb", "line_bytes", "depth"),
    # One entry a line: 16K, 32K, 64K entries for 256 KB, 512 KB, 1 MB at 16-byte lines, half at 32 (arithmetic).
    [(64, 16, 4096), (128, 16, 8192), (256, 16, 16384), (512, 16, 32768), (256, 32, 8192), (512, 32, 16384)],
)
def test_a_tag_part_of_that_depth_exists(ours: Catalogue, cache_kb: int, line_bytes: int, depth: int) -> None:
    assert cache_kb * 1024 // line_bytes == depth
    assert any(
        t.depth is not None and t.depth >= depth and (t.tag_bits or 0) >= 8 for t in ours.tags.values()
    )


def test_tag_parts_hold_the_bits_they_claim(ours: Catalogue) -> None:
    for row in ours.tags.values():
        if row.kind == "match-sram":
            assert row.depth is not None, row.id
            assert row.depth & (row.depth - 1) == 0, row.id
            assert (row.tag_bits or 0) + (row.state_bits or 0) <= (row.bits or 0), row.id
            assert list(row.grades_ns) == sorted(row.grades_ns), row.id
        if row.t_match_ns is not None:
            assert row.t_match_ns in row.grades_ns, row.id


def test_dram_times_obey_their_sums(ours: Catalogue) -> None:
    # tRAC is the grade; tCAC < tAA < tRAC; a full cycle is longer than access and than a page cycle.
    seen = 0
    for row in ours.drams.values():
        if row.kind in ("fpm", "edo"):
            seen += 1
            assert row.t_rac_ns == row.ns, row.id
            assert row.t_cac_ns is not None
            assert row.t_aa_ns is not None
            assert row.t_pc_ns is not None
            assert row.t_rc_ns is not None
            assert row.t_cac_ns < row.t_aa_ns < row.t_rac_ns < row.t_rc_ns, row.id
            assert row.t_pc_ns < row.t_rc_ns, row.id
            if row.t_rp_ns is not None:
                assert row.t_rac_ns + row.t_rp_ns >= row.t_rc_ns - 10, row.id
        else:
            clocks = [row.t_ck_ns[c] for c in sorted(row.t_ck_ns)]
            assert clocks == sorted(clocks, reverse=True), (
                row.id
            )  # a longer latency never needs a longer clock
    assert seen >= 9


def test_edo_pages_faster_than_fpm_of_the_same_grade(ours: Catalogue) -> None:
    for ns in (50, 60, 70):
        fpm, edo = ours.dram("fpm", ns), ours.dram("edo", ns)
        assert fpm.t_pc_ns is not None
        assert edo.t_pc_ns is not None
        assert edo.t_pc_ns < fpm.t_pc_ns


@pytest.mark.reference
def test_enhanced_doubled_part_of_the_second_make_has_signatures(ours: Catalogue) -> None:
    # FreeBSD identcpu.c, citing AMD recognition manual 20734 (source read): 43x write-through, 47x write-back.
    for code, cache in (("0435", "wt"), ("0475", "wb")):
        found = ours.signature(code, "AuthenticAMD")
        assert [(s.cores, s.cache) for s in found] == [(("486dx2-second-wb",), cache)], code
    older = ours.signature("0432", "AuthenticAMD")
    assert [s.cache for s in older] == [None]  # the exact code outranks the range


# The drawing of the re-read ------------------------------------------------------------------------------
def test_drawing_is_the_same_for_a_seed_and_takes_a_tenth() -> None:
    tool = Path(__file__).parents[2] / "tools" / "catalogue_sample.py"
    runs = [
        subprocess.run(
            [sys.executable, str(tool), "--seed", seed], capture_output=True, text=True, check=True
        ).stdout
        for seed in ("20261125", "20261125", "1")
    ]
    assert runs[0] == runs[1] != runs[2]
    *rows, last = runs[0].splitlines()
    count, total = (int(word) for word in last.split() if word.rstrip(",").isdigit() and len(word) < 5)
    assert len(rows) == count == -(-total // 10)
    assert len(set(rows)) == count
