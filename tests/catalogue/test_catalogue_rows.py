"""Our own rows as a whole: counts, origins, nothing invented, names that settle nothing, no maker's tables mixed."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from leadoff.catalogue import Catalogue, Certainty
from leadoff.catalogue.kinds import KINDS
from leadoff.catalogue.row import Row
from leadoff.catalogue.share import shares

# Names that stand only in a citation line of a source.
MAKERS = re.compile(r"\b(intel|amd|cyrix|idt|via|sis|opti|umc|ibm)\b", re.I)  # source: house rules


def every_row(catalogue: Catalogue) -> list[tuple[str, Row]]:
    """Kind and row, over all kinds."""
    return [(kind, row) for kind, place in KINDS.items() for row in getattr(catalogue, place.field).values()]


def test_enough_rows(ours: Catalogue) -> None:
    assert len(ours.cpus) >= 80
    assert len(ours.chipsets) >= 15
    families = {ours.core(c.core).family for c in ours.cpus.values()}
    assert families >= {"386", "486", "socket4", "socket5-7", "slot1", "socket370"}


def test_every_value_says_where_it_comes_from_and_none_is_invented(ours: Catalogue) -> None:
    seen = 0
    for kind, row in every_row(ours):
        for key, (_, origin) in row.values().items():
            seen += 1
            assert origin.certainty not in (Certainty.INVENTED, Certainty.DECLARED), (kind, row.id, key)
            if origin.certainty in (Certainty.READ, Certainty.MEMORY):
                assert origin.source in ours.sources, (kind, row.id, key)
                assert origin.text == ours.sources[origin.source].text
    assert seen > 2000


def test_a_value_that_was_read_names_the_place_it_was_read_at(ours: Catalogue) -> None:
    for kind, row in every_row(ours):
        for key, (_, origin) in row.values().items():
            if origin.certainty is Certainty.READ:
                assert ours.sources[origin.source].read_at, (kind, row.id, key, origin.source)


def test_every_publication_is_used(ours: Catalogue) -> None:
    used = {o.source for _, row in every_row(ours) for _, o in row.values().values()} | {
        row.origin.source for _, row in every_row(ours)
    }
    assert set(ours.sources) - used == set()


def test_every_cpu_says_its_volts_and_clock(ours: Catalogue) -> None:
    for row in ours.cpus.values():
        assert row.v_typ is not None, row.id
        assert row.rated_mhz is not None, row.id
        assert row.names or row.markings, row.id
        limits = [v for v in (row.v_min, row.v_typ, row.v_max, row.v_abs) if v is not None]
        assert limits == sorted(limits), row.id


def test_rated_clock_is_bus_times_a_ratio_the_part_decodes(ours: Catalogue) -> None:
    for row in ours.cpus.values():
        ratios = ours.ratios(row)
        if ratios and row.rated_bus_mhz and row.rated_mhz:
            assert row.rated_mhz / row.rated_bus_mhz in ratios, row.id


def test_watts_go_with_amps_and_volts(ours: Catalogue) -> None:
    # Power is volts times amperes: a row in which the two differ by more than 25 % has a slip in it. Published
    # maxima of the two are taken at different loads, so they are not equal.
    checked = 0
    for row in ours.cpus.values():
        if row.amps and row.watts and row.v_typ and row.core not in ("klamath", "deschutes"):
            checked += 1
            assert row.watts == pytest.approx(row.amps * row.v_typ, rel=0.25), row.id
    assert checked >= 20


def test_cartridge_cache_clock_is_the_core_clock_times_its_share(ours: Catalogue) -> None:
    rows = [r for r in ours.cpus.values() if r.l2_rated_mhz is not None]
    assert len(rows) >= 10
    for row in rows:
        assert row.rated_mhz is not None
        assert row.l2_per_core is not None
        assert row.l2_rated_mhz == row.rated_mhz * row.l2_per_core, row.id


def test_strap_codes_fit_their_pins(ours: Catalogue) -> None:
    for core in ours.cores.values():
        for code in core.ratios:
            assert len(code) == len(core.ratio_pins), core.id
            assert set(code) <= {"0", "1"}, core.id
        assert not (core.ratios and core.fixed_ratio), core.id


def test_a_name_that_exists_at_several_volts_is_ambiguous(ours: Catalogue) -> None:
    found = ours.find_cpu("DX2-66")
    assert {r.v_typ for r in found} == {5.0, 3.3}
    assert {r.v_typ for r in ours.find_cpu("486dx2-80")} == {5.0, 3.3, 4.0}
    assert {r.v_typ for r in ours.find_cpu("6x86-166")} == {3.3, 3.52, 2.8}


@pytest.mark.parametrize(
    ("typed", "row_id"),
    [
        ("CX486DX2-V80GP", "486dx2-80-third-make-4v0"),
        ("cx486dx2-v80", "486dx2-80-third-make-4v0"),
        ("K6-233ANR", "k6-233-3v2"),
        ("486DX2-66-5V", "486dx2-66-5v"),
        ("A80486DX4-100 SK051", "486dx4-100-wt-3v3"),
        ("A80486DX4-100NV8T", "486dx4-100-second-make-wt"),
        ("pentium mmx 200", "p55c-200-2v8"),
    ],
)
def test_a_marking_settles_it(ours: Catalogue, typed: str, row_id: str) -> None:
    assert [r.id for r in ours.find_cpu(typed)] == [row_id]


def test_nothing_is_found_for_nothing(ours: Catalogue) -> None:
    assert ours.find_cpu("") == []
    assert ours.find_cpu(" - ") == []
    assert ours.find_cpu("a part nobody made") == []


def test_unwired_pins_read_as_the_parts_own_pull(ours: Catalogue) -> None:
    row = ours.cpu("p55c-200-2v8")
    assert ours.ratio_at(row, {"BF0": "1"}) == Fraction(7, 2)  # BF1 not wired reads 1
    assert ours.ratio_at(row, {"BF0": "0"}) == 2
    assert ours.ratio_at(row, {"BF1": "0", "BF0": "1"}) == 3
    assert ours.ratio_at(ours.cpu("6x86-p166-3v52"), {}) is None  # open level not established


def test_locked_parts_take_no_strap(ours: Catalogue) -> None:
    row = ours.cpu("slot1-550-2v0-streaming")
    assert (ours.ratio_at(row, {"BF0": "0"}), ours.straps(row), ours.ratios(row)) == (
        Fraction(11, 2),
        {},
        (Fraction(11, 2),),
    )


def test_ids_and_notes_hold_no_makers_name(ours: Catalogue) -> None:
    for kind, row in every_row(ours):
        assert not MAKERS.search(row.id), (kind, row.id)
        assert not MAKERS.search(row.note), (kind, row.id)


def test_share_counts_every_value_once(ours: Catalogue) -> None:
    found = shares(ours)
    total = found[-1]
    assert total.kind == "all"
    assert total.rows == sum(s.rows for s in found[:-1]) == len(every_row(ours))
    assert total.values == sum(len(row.values()) for _, row in every_row(ours))
    assert total.by_weakest.total() == total.rows
