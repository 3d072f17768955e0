"""The loader: every mistake at once, with file, row, key and what was allowed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leadoff.catalogue import load
from leadoff.catalogue.compiling import compile_rows
from leadoff.catalogue.files import RowFile
from leadoff.record.errors import LeadoffError

SOURCES = b'[source.ds-a]\ntitle = "A data sheet"\n'


def problems_of(text: str) -> list[str]:
    """What the loader says of a file of ours (not a user's) with this text."""
    with pytest.raises(LeadoffError) as caught:
        compile_rows([RowFile("sources.toml", SOURCES, False), RowFile("a.toml", text.encode(), False)], "0")
    return [p.text for p in caught.value.problems]


def test_every_mistake_of_every_row_at_once() -> None:
    said = problems_of(
        """
[[sram]]
id = "s1"
kind = "sync"
ns = -1
t_aaa_ns = 3
source = "ds-a"
certainty = "read"

[[sram]]
id = "s2"
kind = "async"
source = "ds-b"
certainty = "read"
"""
    )
    assert said == [
        'a.toml: [[sram]] s1: kind = "sync" is not allowed; allowed: one of: async, burst, pb',
        "a.toml: [[sram]] s1: ns = -1 is not allowed; allowed: a number from 0 to 100000",
        "a.toml: [[sram]] s1: no such key: t_aaa_ns; near: t_aa_ns, t_wp_ns, t_sd_ns",
        'a.toml: [[sram]] s2: the row: source "ds-b" is not among the publications listed; near: ds-a',
        "a.toml: [[sram]] s2: ns is missing",
    ]


def test_problem_names_file_row_and_key() -> None:
    with pytest.raises(LeadoffError) as caught:
        compile_rows(
            [RowFile("a.toml", b'[[sram]]\nid="x"\nkind="async"\nns="fast"\ncertainty="practice"', False)],
            "0",
        )
    problem = caught.value.problems[0]
    assert (problem.code, problem.where) == ("catalogue.value", "a.toml:sram.x.ns")
    assert problem.do == "correct the value, or leave the key out if it is not known"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ('certainty = "sure"', 'certainty = "sure"; allowed: read, memory, practice, judgement, invented'),
        ("", "the row: has no certainty; allowed: read, memory, practice, judgement, invented"),
        ('certainty = "declared"', 'certainty = "declared"; allowed: read, memory'),
        ('certainty = "memory"', "certainty memory needs the publication it comes from"),
        ('certainty = "read"', "certainty read needs the publication it comes from"),
        ('certainty = "practice"\nsource = 3', "source and where are texts"),
    ],
)
def test_a_row_of_ours_says_how_it_is_known(row: str, said: str) -> None:
    found = problems_of(f'[[sram]]\nid = "x"\nkind = "async"\nns = 15\n{row}\n')
    assert len(found) == 1
    assert said in found[0]


def test_a_value_may_have_an_origin_of_its_own() -> None:
    text = b"""
[[sram]]
id = "x"
kind = "async"
ns = 15
t_oe_ns = { value = 7, certainty = "practice", source = "" }
t_wp_ns = { value = 9, where = "p. 4" }
source = "ds-a"
certainty = "read"
"""
    found = compile_rows(
        [RowFile("sources.toml", SOURCES, False), RowFile("a.toml", text, False)], "0"
    ).srams["x"]
    assert (found.t_oe_ns, found.certainty("t_oe_ns"), found.source("t_oe_ns")) == (7, "practice", "")
    assert (found.t_wp_ns, found.certainty("t_wp_ns"), found.source("t_wp_ns")) == (
        9,
        "read",
        "A data sheet, p. 4",
    )
    assert (found.certainty("ns"), found.source("ns")) == ("read", "A data sheet")
    assert (found.certainty("t_sd_ns"), found.source("t_sd_ns")) == ("unknown", "")
    assert found.weakest.value == "practice"


def test_mistake_in_the_origin_of_a_value() -> None:
    text = '[[sram]]\nid="x"\nkind="async"\nns={value=15, certainty="memory", source="ds-z"}\ncertainty="practice"'
    assert problems_of(text) == [
        'a.toml: [[sram]] x: ns: source "ds-z" is not among the publications listed; near: ds-a'
    ]


def test_unknown_kind_missing_id_double_id_and_broken_file() -> None:
    row = 'kind = "async"\nns = 15\ncertainty = "practice"\n'
    twice = f'[[sram]]\nid = "x"\n{row}[[sram]]\nid = "x"\n{row}'
    assert problems_of(twice) == [
        "a.toml: [[sram]] x stands twice, first in a.toml; which holds is not clear"
    ]
    assert problems_of(f"[[sram]]\n{row}")[0].startswith(
        "a.toml: a [[sram]] row has no id, so nothing can refer"
    )
    assert problems_of(f'[[chip]]\nid = "x"\n{row}')[0].startswith(
        "a.toml: no such kind of row: chip; allowed: cpu,"
    )
    assert problems_of("[[sram]\n")[0].startswith("a.toml: not readable as TOML: ")


def test_our_rows_name_core_designs_that_exist() -> None:
    text = '[[cpu]]\nid = "x"\ncore = "nowhere"\ncertainty = "practice"\n'
    assert problems_of(text) == ["a.toml: [[cpu]] x: nowhere is not a core design we have"]


def test_publication_with_a_wrong_key() -> None:
    assert problems_of('[source.x]\ntitle = "T"\nyear = 1990\n') == [
        "a.toml: [source.x]: year is not allowed; allowed keys: title, order, date, read_at, note"
    ]


def test_a_place_that_does_not_exist(tmp_path: Path) -> None:
    with pytest.raises(LeadoffError, match="cannot be read: there is no such file or folder") as caught:
        load([tmp_path / "a", tmp_path / "b"])
    assert len(caught.value.problems) == 2


def test_mistakes_of_all_the_users_files_together(rows: Callable[..., Path]) -> None:
    rows('[[cpu]]\nid = "a"\nv = "high"\n', "a.toml")
    folder = rows('[[cpu]]\nid = "b"\nwats = 3\n[[dram]]\nid = "c"\nkind = "fpm"\n', "b.toml")
    with pytest.raises(LeadoffError) as caught:
        load([folder])
    assert [p.where for p in caught.value.problems] == [
        "a.toml:cpu.a.v_typ",
        "b.toml:cpu.b.wats",
        "b.toml:dram.c.ns",
    ]
