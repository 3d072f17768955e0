"""The ten facts that lose a practitioner's trust at once if wrong, against our rows.

Each group names its publication; where the row itself rests on memory, so does the figure here, and that is said.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from leadoff.catalogue import Catalogue

pytestmark = pytest.mark.reference


# 1. Volts ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("row_id", "low", "typical", "high"),
    [
        # From memory of the makers' data sheets (486 families 242202, 240440, 20736, 19751):
        ("486dx-33", 4.75, 5.0, 5.25),
        ("486dx2-66-5v", 4.75, 5.0, 5.25),
        ("486dx4-100-wt-3v3", 3.0, 3.3, 3.6),
        ("486dx2-66-3v-wb", 3.0, 3.3, 3.6),
        ("x5-133-3v45-case85", 3.3, 3.45, 3.6),
        ("5x86-100-third-make", 3.3, 3.45, 3.6),
        ("486dx2-80-third-make-4v0", 3.8, 4.0, 4.2),
        # From memory of data sheets 241595, 241997, 243185:
        ("p5-60", 4.75, 5.0, 5.25),
        ("p54c-133-3v3", 3.135, 3.3, 3.6),
        ("p54c-133-3v3-vre", 3.4, 3.5, 3.6),
        ("p55c-200-2v8", 2.7, 2.8, 2.9),
        # 6x86 and 6x86MX data books, from memory:
        ("6x86-p166-3v3", 3.15, 3.3, 3.45),
        ("6x86-p166-3v52", 3.4, 3.52, 3.7),
        ("6x86mx-pr200-2v9", 2.8, 2.9, 3.0),
        # Typical volts read (secondary copies), ranges of data sheet 20695 from memory:
        ("k6-200-2v9", 2.755, 2.9, 3.045),
        ("k6-233-3v2", 3.1, 3.2, 3.3),
        ("k6-266-2v2", 2.1, 2.2, 2.3),
    ],
)
def test_volts_by_marking(ours: Catalogue, row_id: str, low: float, typical: float, high: float) -> None:
    row = ours.cpu(row_id)
    assert (row.v_min, row.v_typ, row.v_max) == (low, typical, high)


@pytest.mark.parametrize(
    ("row_id", "typical"),
    # Slot 1 and Socket 370: core supply named by the part (VID), data sheets 243335, 243657, 244452, from memory.
    [
        ("slot1-233-2v8", 2.8),
        ("slot1-400-2v0", 2.0),
        ("socket370-value-466-2v0", 2.0),
        ("socket370-500-1v6", 1.6),
        ("slot1-1000-1v7", 1.7),
        ("6x86l-p166-2v8", 2.8),
    ],
)
def test_typical_volts(ours: Catalogue, row_id: str, typical: float) -> None:
    assert ours.cpu(row_id).v_typ == typical


def test_hottest_k6_published_figures(ours: Catalogue) -> None:
    # Source (read): plasma-online, "AMD K6 in Socket 5 boards", quoting the data sheet: 9.5 A and 28.3 W at
    # 3.2 V; 9.75 A and 30.2 W at 3.3 V.
    a, b = ours.cpu("k6-233-3v2"), ours.cpu("k6-233-3v3")
    assert (a.amps, a.watts, b.amps, b.watts) == (9.5, 28.3, 9.75, 30.2)
    assert {a.certainty("amps"), b.certainty("watts")} == {"read"}


# 2. Ratio straps -----------------------------------------------------------------------------------------
def test_same_strap_other_ratio(ours: Catalogue) -> None:
    # Data sheets 241997 and 243185, from memory: BF1 BF0 = 11 is 1.5, with multimedia extensions 3.5.
    plain, multimedia = ours.core("p54c").ratios, ours.core("p55c").ratios
    assert dict(plain) == {"11": Fraction(3, 2), "10": Fraction(2), "00": Fraction(5, 2), "01": Fraction(3)}
    assert dict(multimedia) == {
        "11": Fraction(7, 2),
        "10": Fraction(2),
        "00": Fraction(5, 2),
        "01": Fraction(3),
    }


def test_late_k6_2_takes_the_strap_of_two_as_six(ours: Catalogue) -> None:
    # K6 data sheets 20695 and 21850, from memory. The six codes that do not differ agree with table 27 of
    # AMD manual 23446 as quoted in the Linux source powernow-k6.c (read).
    early, late = ours.core("k6-2").ratios, ours.core("k6-2-late").ratios
    assert (early["110"], late["110"]) == (2, 6)
    read = {
        "000": Fraction(9, 2),
        "001": Fraction(5),
        "010": Fraction(4),
        "011": Fraction(11, 2),
        "101": Fraction(3),
        "111": Fraction(7, 2),
    }
    for core in ("k6-m6", "k6-m7", "k6-2", "k6-2-late", "k6-3"):
        assert {c: ours.core(core).ratios[c] for c in read} == read
        assert ours.core(core).ratios["100"] == Fraction(5, 2)


def test_clkmul_low_is_two_on_one_486_and_four_on_another(ours: Catalogue) -> None:
    # Quadrupled part at x3 and x4: RBIL release 61, OPCODES.LST appendix B (read; register manual, secondary).
    # Tripled part: data sheet 241944, from memory.
    tripled, quadrupled = ours.cpu("486dx4-100-wt-3v3"), ours.cpu("x5-133-3v45-case85")
    assert (ours.ratio_at(tripled, {"CLKMUL": "0"}), ours.ratio_at(quadrupled, {"CLKMUL": "0"})) == (2, 4)
    assert (ours.ratio_at(tripled, {"CLKMUL": "1"}), ours.ratio_at(quadrupled, {"CLKMUL": "1"})) == (3, 3)
    assert (ours.ratio_at(tripled, {}), ours.ratio_at(quadrupled, {})) == (3, 3)


def test_k5_ratios(ours: Catalogue) -> None:
    # Source (read): AMD-K5 technical reference manual 18524C/0 table 5-7 (models 0 and 1); RBIL appendix B
    # (read): models 1, 2, 3 are x1.5, x1.75, x2.
    assert dict(ours.core("k5-m0").ratios) == {"1": Fraction(3, 2), "0": Fraction(2)}
    assert [ours.core(f"k5-m{n}").fixed_ratio for n in (1, 2, 3)] == [
        Fraction(3, 2),
        Fraction(7, 4),
        Fraction(2),
    ]


# 3. Clocks -----------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("spoken", "exact"),
    [
        ("33", Fraction(100, 3)),  # common practice, no source: the printed 33 is a third of a hundred
        ("33.3", Fraction(100, 3)),
        ("66", Fraction(200, 3)),
        ("83", Fraction(250, 3)),
        ("133", Fraction(400, 3)),
        ("80.000", Fraction(80)),
        ("14.31818", Fraction(315, 22)),  # four times 315/88 MHz, the colour subcarrier (NTSC standard)
        ("1.193182", Fraction(315, 22) / 12),
        ("32.768 khz", Fraction(32768, 10**6)),  # MC146818 data sheet (read: base frequencies)
        ("8.33", Fraction(25, 3)),
    ],
)
def test_exact_clocks(ours: Catalogue, spoken: str, exact: Fraction) -> None:
    found = ours.clock(spoken)
    assert found is not None
    assert found.mhz == exact


def test_isa_is_a_quarter_of_33_and_a_third_of_25(ours: Catalogue) -> None:
    # Intel 82380AB dividers as copied in RBIL 01091 (read; manual, secondary): SYSCLK = PCICLK / 4 or / 3.
    isa, bus33 = ours.clock("8.33"), ours.clock("33")
    assert isa is not None
    assert bus33 is not None
    assert isa.mhz == bus33.mhz / 4 == Fraction(25) / 3
    assert set(ours.chipset("socket7-64mb-edo").isa_dividers) == {Fraction(3), Fraction(4)}


def test_cans_of_286_and_386_boards_are_twice_the_bus(ours: Catalogue) -> None:
    # Source (read): 386 DX hardware reference manual 231732: a bus cycle is two clocks, four CLK2 periods.
    for row in ours.cpus.values():
        core = ours.core(row.core)
        assert core.can_per_bus == (2 if core.family in ("286", "386") else 1), row.id
    can = ours.clock("80.000")
    assert can is not None
    assert can.mhz / 2 == ours.cpu("386dx-40-second-make").rated_mhz


# 4. A rating is not a clock ------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("row_id", "rating", "core_mhz", "bus_mhz"),
    # Makers' data books, from memory.
    [
        ("6x86-p166-3v52", "P166+", Fraction(400, 3), Fraction(200, 3)),
        ("6x86-p200-3v52", "P200+", Fraction(150), Fraction(75)),
        ("k5-pr133-3v52", "PR133", Fraction(100), Fraction(200, 3)),
        ("k5-pr166-3v52", "PR166", Fraction(350, 3), Fraction(200, 3)),
        ("x5-133-3v45-case55", "P75", Fraction(400, 3), Fraction(100, 3)),
    ],
)
def test_rating_and_clock(
    ours: Catalogue, row_id: str, rating: str, core_mhz: Fraction, bus_mhz: Fraction
) -> None:
    row = ours.cpu(row_id)
    assert (row.rating, row.rated_mhz, row.rated_bus_mhz) == (rating, core_mhz, bus_mhz)


# 5. Caches -----------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("core", "kb", "code", "data", "policy"),
    [
        # Source (read): 486 hardware reference manual 273025 p. 56, 268: 8 KB, 16 KB on the tripled part.
        ("486dx", 8, None, None, "wt"),
        ("486dx2", 8, None, None, "wt"),
        ("486dx4", 16, None, None, "wt"),
        # From memory of the makers' data sheets:
        ("x5", 16, None, None, "wt-or-wb"),
        ("486dx2-second-wb", 8, None, None, "wt-or-wb"),
        ("486dx4-second-wb", 8, None, None, "wt-or-wb"),
        ("486dlc", 1, None, None, "wt"),
        # Source (read): board manual Vectra 525 p. 71: 8 KB code and 8 KB data, written back line by line.
        ("p54c", 16, 8, 8, "wb"),
        # From memory:
        ("p55c", 32, 16, 16, "wb"),
        ("6x86", 16, None, None, "wb"),
        ("6x86mx", 64, None, None, "wb"),
        ("k6-m6", 64, 32, 32, "wb"),
        ("k5-m0", 24, 16, 8, "wb"),
    ],
)
def test_first_level(
    ours: Catalogue, core: str, kb: int, code: int | None, data: int | None, policy: str
) -> None:
    row = ours.core(core)
    assert (row.l1_kb, row.l1_code_kb, row.l1_data_kb, row.l1_policy) == (kb, code, data, policy)


def test_386_pin_486_cache_is_off_until_enabled(ours: Catalogue) -> None:
    assert ours.core("486dlc").l1_off_at_reset is True  # Cx486DLC data book, from memory


def test_second_level_on_cartridge_and_die(ours: Catalogue) -> None:
    # First Slot 1: 512 KB at half core clock (read in two secondary pages); on the die at core clock, from
    # memory of data sheets 243658 and 245264.
    first, value, late = (ours.cpu(i) for i in ("slot1-233-2v8", "slot1-value-300a-2v0", "slot1-600-1v65"))
    assert (first.l2_kb, first.l2_per_core) == (512, Fraction(1, 2))
    assert (value.l2_kb, value.l2_per_core) == (128, 1)
    assert (late.l2_kb, late.l2_per_core) == (256, 1)
    locked = ours.cpu("slot1-550-2v0-streaming")
    assert (locked.locked, locked.l2_per_core, locked.l2_rated_mhz) == (
        Fraction(11, 2),
        Fraction(1, 2),
        Fraction(275),
    )


# 6. Cacheable --------------------------------------------------------------------------------------------
def test_cacheable_limits(ours: Catalogue) -> None:
    # FX, VX, TX: data sheets 290518, 290553, 290559, from memory. HX: RBIL 01112 bit 2 (read, manual,
    # secondary). First Slot 1: 512 MB (read, secondary), later 4 GB (from memory).
    for chipset in ("socket7-64mb-edo", "socket7-64mb-sdram", "socket7-64mb-sdram-late"):
        assert ours.chipset(chipset).cacheable_mb == 64
    assert dict(ours.chipset("socket7-512mb-tag11").cacheable_mb_by_tag) == {"8": 64, "11": 512}
    assert ours.cpu("slot1-233-2v8").l2_cacheable_mb == 512
    assert ours.cpu("slot1-400-2v0").l2_cacheable_mb == 4096


def test_dirty_bit_from_the_tag_halves_the_range(ours: Catalogue) -> None:
    # 256 KB x 2^8 = 64 MB, 32 MB with the dirty bit in the tag: RBIL P0434 bit 4 (read, manual, secondary).
    modes = ours.chipset("486-vlb-pci-alter-choice").tag_modes
    assert {(m.tag, m.dirty, 256 * 2**m.tag // 1024) for m in modes} == {(8, 0, 64), (7, 1, 32)}
    # 386SX class with 7 address bits: 16/32/64/128 KB give 2/4/8/16 MB, RBIL P0116 (read, manual, secondary).
    small = ours.chipset("386sx-wb-in-tag")
    assert [kb * 2 ** small.tag_modes[0].tag // 1024 for kb in small.l2_kb] == [2, 4, 8, 16]


# 7. Memory fill ------------------------------------------------------------------------------------------
def test_modules_per_bank(ours: Catalogue) -> None:
    # JEDEC standard 21-C widths (from memory): 8, 32 and 64 data bits; modules = bus bits / module bits.
    for module in ours.modules.values():
        for bus, count in module.per_bank.items():
            assert count == int(bus) // module.data_bits, module.id
    assert ours.modules["simm30"].per_bank == {"16": 2, "32": 4}
    assert ours.modules["simm72"].per_bank == {"32": 1, "64": 2}
    assert ours.modules["dimm168"].per_bank == {"64": 1}


def test_edo_only_where_the_chipset_knows_it(ours: Catalogue) -> None:
    assert "edo" in ours.chipset("socket7-64mb-edo").memory_kinds  # data sheet 290518, from memory
    assert "edo" not in ours.chipset("486-vlb-two-thirds").memory_kinds  # common practice, no source
    assert ours.modules["simm30"].kinds == ("fpm",)


def test_sdram_clock_is_inside_at_the_latency_that_is_specified(ours: Catalogue) -> None:
    # IBM 13T16644NPA data sheet p. 5 (read): 10.0 ns at latency 3, 15.0 ns at latency 2: latency 3 only at 100 MHz.
    slow = ours.drams["sdram-pc100-322"]
    assert (slow.inside(100, 3), slow.inside(100, 2), slow.inside(200 / 3, 2)) == (True, False, True)
    # Transcend TS8MLS64V8C2 data sheet, SPD bytes 9 and 23 (read): 10.0 ns at both.
    fast = ours.drams["sdram-pc100-222"]
    assert (fast.inside(100, 3), fast.inside(100, 2), fast.inside(103, 2)) == (True, True, False)
    # An 8 ns part rated at latency 3 (common practice, no source): 8.06 ns at 124 MHz is inside, 7.5 ns is not.
    part = ours.dram("sdram", 8)
    assert (part.inside(124, 3), part.inside(400 / 3, 3), part.inside(124, 2)) == (True, False, None)


@pytest.mark.parametrize(
    ("kind", "ns", "times"),
    # MT4/8LDT(4)864 data sheet, rev 2/99 (read): tRAC tCAC tAA tRC tPC; 80 ns: SMJ44C256 data sheet (read).
    [
        ("fpm", 50, (50, 13, 25, 90, 30)),
        ("fpm", 60, (60, 15, 30, 110, 35)),
        ("fpm", 80, (80, 20, 40, 150, 50)),
        ("edo", 50, (50, 13, 25, 84, 20)),
        ("edo", 60, (60, 15, 30, 104, 25)),
    ],
)
def test_dram_times(ours: Catalogue, kind: str, ns: int, times: tuple[int, ...]) -> None:
    row = ours.dram(kind, ns)
    assert (row.t_rac_ns, row.t_cac_ns, row.t_aa_ns, row.t_rc_ns, row.t_pc_ns) == times
    assert row.certainty("t_pc_ns") == "read"


# 8. Cache SRAM -------------------------------------------------------------------------------------------
def test_sram_packages(ours: Catalogue) -> None:
    # 32Kx8 has 28 pins: W24257A data sheet (read). 128Kx8 has 32: CY7C109 data sheet (read). 64Kx8: memory.
    pins = {(s.depth, s.pins) for s in ours.srams.values() if s.kind == "async"}
    assert pins == {(8192, 28), (32768, 28), (65536, 32), (131072, 32)}
    for row in ours.srams.values():
        if row.pins == 32:
            assert "away from pin 1" in row.fit, row.id


def test_sram_times(ours: Catalogue) -> None:
    # CY7C199 data sheet 38-05160 p. 4 (read).
    table = {8: (8, 4.5, 7, 5, 5), 10: (10, 5, 7, 5, 5), 12: (12, 5, 8, 8, 5), 15: (15, 7, 9, 9, 7)}
    for ns, times in table.items():
        s = ours.sram(ns)
        assert (s.t_aa_ns, s.t_oe_ns, s.t_wp_ns, s.t_sd_ns, s.t_hzoe_ns) == times
        assert s.certainty("t_oe_ns") == "read"


# 9. Buses ------------------------------------------------------------------------------------------------
def test_bus_limits(ours: Catalogue) -> None:
    # PCI local bus specification 2.1 and AGP specification, from memory; VLB loads: common practice.
    assert ours.bus_limit("pci").max_mhz == Fraction(100, 3)
    assert ours.bus_limit("agp").max_mhz == Fraction(200, 3)
    assert ours.bus_limit("isa").max_mhz == Fraction(25, 3)
    assert dict(ours.bus_limit("vlb").loads_by_mhz) == {"33.33": 3, "40": 2, "50": 1}


def test_dma_and_isa_masters_reach_16_mb(ours: Catalogue) -> None:
    isa = ours.bus_limit("isa")  # AT technical reference manual, from memory: 24 address lines
    assert (isa.master_reach_mb, isa.dma_reach_mb) == (16, 16) == (2**24 // 2**20, 16)
    assert set(isa.dma_users) == {"floppy", "digitised sound"}
    for card in ("isa-floppy", "isa-sound-dma"):
        assert ours.cards[card].dma is True
    assert ours.cards["isa-pio-disk"].dma is False


def test_write_back_needs_the_dirty_hit_line(ours: Catalogue) -> None:
    for core in ours.cores.values():
        if core.l1_policy in ("wb", "wt-or-wb"):
            assert core.needs_snoop == "dirty-hit", core.id
        if core.l1_policy == "wt":
            assert core.needs_snoop == "invalidate", core.id


# 10. Clock parts and signatures --------------------------------------------------------------------------
def test_clock_part_sizes(ours: Catalogue) -> None:
    # MC146818 data sheet (read): 64 bytes, 50 for the user; 12887-type data sheet 041697 (read): 128 and 114.
    sizes = {p.id: (p.bytes, p.user_bytes) for p in ours.clock_parts.values()}
    assert sizes["discrete-64"] == (64, 50)
    assert sizes["sealed-128"] == (128, 114)
    assert all(total - user == 14 for total, user in sizes.values())  # 14 registers, 00h to 0Dh


def test_clear_pin_on_some_parts_only(ours: Catalogue) -> None:
    # 19-5213 and bq3285 data sheets (read): pin 21; one with power off, the other with power on.
    assert ours.clock_parts["sealed-128"].clear_pin is None
    a, b = ours.clock_parts["sealed-128-clear"], ours.clock_parts["discrete-128-bq"]
    assert (a.clear_pin, a.clear_when) == (21, "power-off")
    assert (b.clear_pin, b.clear_when) == (21, "power-on")


def test_one_signature_two_makers(ours: Catalogue) -> None:
    # RBIL release 61, OPCODES.LST appendix B (re-read; manual, secondary): 0490 in two entries.
    both = ours.signature("0490")
    assert {s.vendor for s in both} == {"GenuineIntel", "CyrixInstead"}
    assert [s.cores for s in ours.signature("0490", "GenuineIntel")] == [("486dx4-wb",)]


@pytest.mark.parametrize(
    ("code", "vendor", "core", "cache"),
    # RBIL appendix B (re-read; manual, secondary).
    [
        ("0470", "GenuineIntel", "486dx2-wb", "wb"),
        ("0436", "GenuineIntel", "486dx2-wb", "wt"),
        ("0x0483", "GenuineIntel", "486dx4-wb", "wt"),
        ("0480", "GenuineIntel", "486dx4", None),
        ("04E4", "AuthenticAMD", "x5", "wt"),
        ("04f4", "AuthenticAMD", "x5", "wb"),
        ("0525", "GenuineIntel", "p54c", None),
        ("0543", "GenuineIntel", "p55c", None),
        ("0562", "AuthenticAMD", "k6-m6", None),
        ("0633", "GenuineIntel", "klamath", None),
        ("0540", "CentaurHauls", "c6", None),
    ],
)
def test_signatures(ours: Catalogue, code: str, vendor: str, core: str, cache: str | None) -> None:
    found = ours.signature(code, vendor)
    assert [core in s.cores for s in found] == [True]
    assert found[0].cache == cache
