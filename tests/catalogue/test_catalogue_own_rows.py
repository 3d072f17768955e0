"""Rows that the user brings: liberal shapes, and they win."""

from __future__ import annotations

import json
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.catalogue import CpuRow, load
from leadoff.catalogue.check import hints_of, read_row
from leadoff.catalogue.shapes import ALIASES, SHAPES
from leadoff.record.errors import LeadoffError

Write = Callable[..., Path]


def cpu(rows: Write, body: str, head: str = '[[cpu]]\nid = "mine"\n') -> CpuRow:
    """The row ``mine`` with this body."""
    return load([rows(head + body)]).cpus["mine"]


def test_a_users_row_replaces_ours_whole(rows: Write) -> None:
    mine = load([rows('[[cpu]]\nid = "p55c-200-2v8"\ncore = "p55c"\nv = 2.5\n')])
    row = mine.cpu("p55c-200-2v8")
    assert (row.v_typ, row.v_max, row.amps, row.own) == (2.5, None, None, True)
    assert row.certainty("v_typ") == "declared"
    assert row.v_recommended_max == 2.5
    assert mine.find_cpu("p55c-200-2v8") == [row]
    assert len(mine.cpus) == len(load().cpus)


def test_a_users_row_outranks_ours_of_the_same_name(rows: Write, ours: Any) -> None:
    assert len(ours.find_cpu("486dx2-66")) > 3
    mine = load([rows('[[cpu]]\nid = "my-dx2"\nname = "486DX2-66"\ncore = "486dx2"\nv = 5\n')])
    assert [r.id for r in mine.find_cpu("dx2 66")] != []
    assert [r.id for r in mine.find_cpu("486dx2-66")] == ["my-dx2"]


def test_contract_row(rows: Write) -> None:
    row = cpu(rows, 'core = "p55c"\nv = 2.8\namps = 5.7\nwatts = 15.7\nratios = [1.5, 2, 2.5, 3]\n')
    assert (row.core, row.v_typ, row.amps, row.watts) == ("p55c", 2.8, 5.7, 15.7)
    assert row.ratios == (Fraction(3, 2), Fraction(2), Fraction(5, 2), Fraction(3))
    locked = cpu(rows, 'core = "katmai"\nv = 2.0\nlocked = "11/2"\nl2_clock = "core/2"\n')
    assert (locked.locked, locked.l2_per_core) == (Fraction(11, 2), Fraction(1, 2))


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("v = 2.8", (None, 2.8, None, None)),
        ("v = [2.8]", (None, 2.8, None, None)),
        ("v = [2.8, 2.9]", (None, 2.8, 2.9, None)),
        ("v = [2.7, 2.8, 2.9]", (2.7, 2.8, 2.9, None)),
        ("v = { min = 2.7, typ = 2.8, max = 2.9, abs = 3.7 }", (2.7, 2.8, 2.9, 3.7)),
        ("v = { nom = 2.8 }", (None, 2.8, None, None)),
        ('v = "2.8 V"', (None, 2.8, None, None)),
        ('v = ["2,8", "2.9V"]', (None, 2.8, 2.9, None)),
        ("volts = 2.8\nv_max = 2.9", (None, 2.8, 2.9, None)),
        ("v_typ = 5\nv_abs = 6.5", (None, 5.0, None, 6.5)),
        ('v = { value = 2.8, source = "printed on the lid" }', (None, 2.8, None, None)),
    ],
)
def test_shapes_of_volts(rows: Write, typed: str, expected: tuple[float | None, ...]) -> None:
    row = cpu(rows, typed)
    assert (row.v_min, row.v_typ, row.v_max, row.v_abs) == expected


@pytest.mark.parametrize(
    ("typed", "straps", "ratios", "locked"),
    [
        ("ratios = [2, 2.5]", {}, (Fraction(2), Fraction(5, 2)), None),
        ('ratios = ["7/2", "2.5", 3]', {}, (Fraction(7, 2), Fraction(5, 2), Fraction(3)), None),
        ('ratios = { "11" = "7/2", "10" = 2 }', {"11": Fraction(7, 2), "10": Fraction(2)}, (), None),
        ("ratio = 3", {}, (Fraction(3),), None),
        ('ratios = ["x4", "3.5x"]', {}, (Fraction(4), Fraction(7, 2)), None),
        ("multipliers = [1.75]", {}, (Fraction(7, 4),), None),
        ("locked = 5.5", {}, (), Fraction(11, 2)),
        ('locked = "11/2"', {}, (), Fraction(11, 2)),
        ("locked = true\nratios = [4]", {}, (), Fraction(4)),
        ("locked = true\nratios = 4.5", {}, (), Fraction(9, 2)),
        ('locked = true\nratios = { "0" = 3 }', {}, (), Fraction(3)),
        ("locked = false\nratios = [2, 3]", {}, (Fraction(2), Fraction(3)), None),
    ],
)
def test_shapes_of_ratios(
    rows: Write,
    typed: str,
    straps: dict[str, Fraction],
    ratios: tuple[Fraction, ...],
    locked: Fraction | None,
) -> None:
    row = cpu(rows, typed)
    assert (dict(row.straps), row.ratios, row.locked) == (straps, ratios, locked)


@pytest.mark.parametrize(
    ("typed", "core", "bus", "mhz"),
    [
        ('"core"', Fraction(1), None, None),
        ('"half"', Fraction(1, 2), None, None),
        ('"1/2"', Fraction(1, 2), None, None),
        ("0.5", Fraction(1, 2), None, None),
        ('"core/2"', Fraction(1, 2), None, None),
        ('"core / 3"', Fraction(1, 3), None, None),
        ("1", Fraction(1), None, None),
        ('"bus"', None, Fraction(1), None),
        ("275", None, None, Fraction(275)),
        ('"275 MHz"', None, None, Fraction(275)),
        ('"400/3"', None, None, Fraction(400, 3)),
    ],
)
def test_shapes_of_the_cache_clock(
    rows: Write, typed: str, core: Fraction | None, bus: Fraction | None, mhz: Fraction | None
) -> None:
    row = cpu(rows, f"l2_clock = {typed}")
    assert (row.l2_per_core, row.l2_per_bus, row.l2_fixed_mhz) == (core, bus, mhz)


@pytest.mark.parametrize(
    ("text", "row_id"),
    [
        ("[cpu.mine]\nv = 5\n", "mine"),
        ('[cpu]\nid = "mine"\nv = 5\n', "mine"),
        ('[[row]]\nkind = "cpu"\nid = "mine"\nv = 5\n', "mine"),
        ('[[cpu]]\nmarking = "A80X"\nv = 5\n', "A80X"),
        ('[[cpu]]\nname = "test part"\nv = 5\n', "test part"),
    ],
)
def test_shapes_of_a_row(rows: Write, text: str, row_id: str) -> None:
    assert load([rows(text)]).cpu(row_id).v_typ == 5


def test_clocks_stay_exact(rows: Write) -> None:
    row = cpu(rows, 'rated_mhz = "400/3"\nbus_mhz = "100/3"\nwatts_at = { mhz = 133, v = 3.45 }\n')
    assert (row.rated_mhz, row.rated_bus_mhz) == (Fraction(400, 3), Fraction(100, 3))
    assert (row.watts_at_mhz, row.watts_at_v) == (Fraction(133), 3.45)
    assert cpu(rows, "rated_mhz = 66.67").rated_mhz == Fraction("66.67")


def test_typed_text_and_source_are_kept(rows: Write) -> None:
    text = '[[cpu]]\nid = "mine"\nv = [2.8, 2.9]\nsource = "printed on the lid"\n'
    found = load([rows(text)])
    row = found.cpus["mine"]
    assert json.loads(row.typed) == {"id": "mine", "v": [2.8, 2.9], "source": "printed on the lid"}
    assert found.own_files == {"mine.toml": text}
    assert row.source("v_max") == "printed on the lid"
    assert (row.file, row.certainty("v_max")) == ("mine.toml", "declared")


def test_a_core_we_do_not_know_is_kept_as_typed(rows: Write) -> None:
    found = load([rows('[[cpu]]\nid = "mine"\ncore = "something new"\nratios = [2, 3]\n')])
    row = found.cpu("mine")
    assert found.core_of(row) is None
    assert found.ratios(row) == (Fraction(2), Fraction(3))
    assert found.ratio_at(row, {}) is None


def test_a_core_is_found_by_its_other_names(rows: Write) -> None:
    found = load([rows('[[cpu]]\nid = "mine"\ncore = "Pentium MMX"\nratios = [2, "7/2"]\n')])
    row = found.cpu("mine")
    core = found.core_of(row)
    assert core is not None
    assert core.id == "p55c"
    assert found.straps(row) == {"11": Fraction(7, 2), "10": Fraction(2)}


def test_other_kinds_of_row(rows: Write) -> None:
    found = load(
        [
            rows(
                """
[[sram]]
id = "mine-15"
kind = "async"
ns = 15
t_oe_ns = 6
[[dram]]
id = "my-sdram"
kind = "sdram"
ns = 8
t_ck_ns = { "3" = 8.0, "2" = 10.0 }
[[chipset]]
id = "my-board-class"
family = "486"
bus_bits = 32
read_hit = { async = ["2-1-1-1"] }
[[card]]
id = "my-card"
bus = "isa"
master = true
[[regulator]]
id = "my-regulator"
kind = "linear"
amps = 5
[[supply]]
id = "my-supply"
kind = "at"
minimum_amps_by_rail = { "+5" = 2.0 }
"""
            )
        ]
    )
    assert found.sram(15).id == "mine-15"
    assert found.dram("sdram", 8).id == "my-sdram"
    assert found.chipset("my-board-class").reads() == ("2-1-1-1",)
    assert found.cards["my-card"].master is True
    assert (found.regulators["my-regulator"].amps, found.supplies["my-supply"].kind) == (5, "at")


def test_a_board_file_beside_the_rows_is_passed_over(rows: Write) -> None:
    folder = rows('[board]\nid = "b1"\nclass = "486"\n', "board.toml")
    rows('[[cpu]]\nid = "mine"\nv = 5\n')
    assert load([folder]).cpu("mine").v_typ == 5


def test_one_file_in_place_of_a_folder(rows: Write) -> None:
    folder = rows('[[cpu]]\nid = "mine"\nv = 5\n')
    assert load([folder / "mine.toml"]).cpu("mine").v_typ == 5


def test_one_id_in_two_files_of_a_users_is_asked_about(tmp_path: Path) -> None:
    for name, volts in (("a", 2.8), ("b", 2.9)):
        (tmp_path / name).mkdir()
        (tmp_path / name / f"{name}.toml").write_text(f'[[cpu]]\nid = "mine"\nv = {volts}\n')
    with pytest.raises(LeadoffError, match=r"stands twice, first in a\.toml"):
        load([tmp_path / "a", tmp_path / "b"])


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            "ratios = [0]",
            "ratios = [0] is not allowed; allowed: a list, each a number above zero, or a fraction",
        ),
        ('ratios = ["two"]', 'ratios = ["two"] is not allowed; allowed: a list, each a number above zero'),
        ('ratios = ["1/0"]', 'ratios = ["1/0"] is not allowed'),
        (
            'l2_clock = "often"',
            'l2_per_core = "often" is not allowed; allowed: a number above zero, or a fraction',
        ),
        ("locked = true", "locked = true is not allowed; allowed: a number above zero, or a fraction"),
        ('v = "2.8 A"', 'v_typ = "2.8 A" is not allowed; allowed: a number from 0.5 to 30'),
        ('ratios = ["1e999999999"]', 'ratios = ["1e999999999"] is not allowed'),
        ("v = 500", "v_typ = 500 is not allowed; allowed: a number from 0.5 to 30"),
        ("v = [1, 2, 3, 4]", "v_typ = [1,2,3,4] is not allowed; allowed: a number from 0.5 to 30"),
        ("amps = true", "amps = true is not allowed; allowed: a number from 0.0001 to 60"),
        ("l1_policy = 'both'", 'l1_policy = "both" is not allowed; allowed: one of: none, wt, wb, wt-or-wb'),
        ("markings = 3", "markings = 3 is not allowed; allowed: a list, each a text"),
        ("v = 5\nv_typ = 5", "v_typ is said twice, the second time by v_typ"),
        ("l1_polcy = 'wt'", "no such key: l1_polcy; near: l1_policy"),
    ],
)
def test_what_cannot_be_read_is_refused(rows: Write, typed: str, said: str) -> None:
    with pytest.raises(LeadoffError) as caught:
        cpu(rows, typed)
    assert len(caught.value.problems) == 1
    assert said in caught.value.problems[0].text


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=True) | st.text(max_size=12),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["value", "source", "certainty", "min", "typ", "max", "11", "x"]),
            inner,
            max_size=4,
        )
    ),
    max_leaves=8,
)
KEYS = st.sampled_from([*hints_of(CpuRow), *SHAPES, *ALIASES, "source", "certainty", "where", "nonsense"])


@given(st.dictionaries(KEYS, VALUES, max_size=6))
@settings(max_examples=300, deadline=None)
def test_whatever_is_typed_is_a_row_or_a_list_of_mistakes(typed: dict[str, Any]) -> None:
    row, problems = read_row("f.toml", "cpu", "x", typed, own=True, sources={})
    assert (row is None) == bool(problems)
    if row is not None:
        assert all(origin.certainty is not None for _, origin in row.values().values())


def test_trait_comes_from_the_part_else_from_its_core(rows: Write) -> None:
    found = load([rows('[[cpu]]\nid = "mine"\ncore = "486dx4"\nl1_kb = 8\n')])
    row = found.cpu("mine")
    own, core = found.trait(row, "l1_kb"), found.trait(row, "fpu")
    assert own is not None
    assert core is not None
    assert (own[0], own[1].certainty) == (8, "declared")
    assert (core[0], core[1].certainty) == (True, "memory")
    assert found.trait(row, "v_abs") is None
