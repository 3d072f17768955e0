"""The board file: the contract's keys, unknown stays unknown, every mistake at once with its path."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from board_texts import LEVER, catalogue
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.machine.boardfile import read_board_file
from leadoff.machine.fold import start
from leadoff.machine.processors import described_processor
from leadoff.record.board import BoardSheet
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.state import Status

DOCS = Path(__file__).parents[2] / "docs" / "board-file.md"


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(LeadoffError) as caught:
        read_board_file(text)
    return caught.value.problems


def documented() -> str:
    text = DOCS.read_text(encoding="utf-8")
    return text.split("```toml\n", 1)[1].split("\n```", 1)[0]


def test_documented_example_is_a_whole_board() -> None:
    sheet = read_board_file(documented())
    assert sheet.id == "heron-486"
    assert len(sheet.jumpers) >= 3
    assert len(sheet.options) >= 1
    assert len(sheet.cards) >= 2
    assert sheet.cpu is not None
    assert sheet.cache is not None
    assert sheet.memory
    state = start(sheet).state()
    assert state.value("bus_mhz") == "100/3"
    assert "fpu" not in state.settings  # not written, so not known


def test_documented_example_shows_every_key_of_the_contract() -> None:
    table = tomllib.loads(documented())
    board_keys = ("id", "class", "buses", "rails", "ratio_pins_wired", "snoop_line", "sheet_confirmed")
    assert [k for k in board_keys if k not in table["board"]] == []
    assert {"jumper", "option", "card", "fitted", "now"} <= set(table)
    assert {"id", "positions", "sets"} <= set(table["jumper"][0])
    assert {"slot", "bus", "master", "dma"} <= set(table["card"][0])
    assert {"cpu", "cache", "memory"} <= set(table["fitted"])


BODY = {
    "rails": "rails = [{ v = 3.3, amps = 5.0 }]",
    "ratio_pins_wired": 'ratio_pins_wired = ["bf0"]',
    "dividers": 'dividers = { pci = { 66 = "1/2", "*" = "/3" }, isa = "1/8" }',
    "snoop_line": "snoop_line = false",
    "card": 'card = [{ slot = "isa1", bus = "ISA", master = true, dma = false }]',
    "memory": 'memory = [{ site = "S1", mb = 16, type = "FPM", ns = 60 }]',
    "interposer": "interposer = { v = 2.8, ratio_straps = true }",
}


@pytest.mark.parametrize("place", ["", "board", "fitted"])
@pytest.mark.parametrize("key", sorted(BODY))
def test_limits_may_stand_at_the_top_under_board_or_under_fitted(place: str, key: str) -> None:
    lines = {"": "", "board": "", "fitted": ""}
    lines[place] = BODY[key]
    text = (
        f'{lines[""]}\n[board]\nid = "x"\nclass = "socket7"\n{lines["board"]}\n[fitted]\n{lines["fitted"]}\n'
    )
    sheet = read_board_file(text)
    got = {
        "rails": lambda: [(r.v, r.amps) for r in sheet.rails] == [("3.3", 5.0)],
        "ratio_pins_wired": lambda: sheet.ratio_pins_wired == ("BF0",),
        "dividers": lambda: sheet.dividers == {"pci": {"200/3": "1/2", "*": "1/3"}, "isa": {"*": "1/8"}},
        "snoop_line": lambda: sheet.snoop_line is False,
        "card": lambda: (
            (sheet.cards[0].bus, sheet.cards[0].master, sheet.cards[0].dma) == ("isa", True, False)
        ),
        "memory": lambda: (sheet.memory[0].mb, sheet.memory[0].type, sheet.memory[0].ns) == (16, "fpm", 60),
        "interposer": lambda: sheet.interposer is not None and sheet.interposer.ratio_straps,
    }[key]
    assert got(), sheet


@pytest.mark.parametrize(
    ("typed", "exact"),
    [("33", "100/3"), ("33.33", "100/3"), ('"100/3"', "100/3"), ("66", "200/3"), ("66.6", "200/3"),
     ("66.67", "200/3"), ("83", "250/3"), ("133", "400/3"), ("40", "40"), ('"33,33"', "100/3"), ("37.5", "75/2")],
)  # fmt: skip
def test_nominal_clocks_are_exact(typed: str, exact: str) -> None:
    """Common practice, no source: 33 on a sheet means 33.33."""
    text = (
        '[board]\nid = "x"\nclass = "486"\n[[jumper]]\nid = "J1"\npositions = ["a", "b"]\n'
        f"sets = {{ bus_mhz = {{ a = {typed} }} }}\n"
    )
    assert read_board_file(text).jumpers[0].sets["bus_mhz"]["a"] == exact


@pytest.mark.parametrize("written", ['"?"', '"unknown"', '"default"'])
def test_a_question_mark_and_default_are_not_known(written: str) -> None:
    text = LEVER.replace('JP2 = "closed"', f"JP2 = {written}")
    state = start(read_board_file(text)).state()
    assert state.get("jp2").status is Status.UNKNOWN
    assert state.get("ratio").status is Status.UNKNOWN
    assert state.value("bus_mhz") == "200/3"


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Socket 7", "socket7"),
        ("slot 1", "slot1"),
        ("486vlb", "486-vlb"),
        ("486 VLB", "486-vlb"),
        ("386 DX", "386dx"),
        ("super 7", "super-7"),
    ],
)
def test_a_class_has_one_name_however_it_is_typed(typed: str, name: str) -> None:
    assert read_board_file(f'[board]\nid = "x"\nclass = "{typed}"\n').board_class == name


def test_a_question_mark_is_no_name_of_a_part() -> None:
    """Two boards with an unknown chipset have no chipset in common."""
    said = "".join(f'{key} = "?"\n' for key in ("chipset", "socket", "clock_part", "firmware"))
    fitted = "".join(f'{key} = "unknown"\n' for key in ("cpu", "cpu_specimen", "fpu"))
    asked = read_board_file(f'[board]\nid = "x"\nclass = "286"\n{said}[fitted]\n{fitted}[rig]\nvideo = "?"\n')
    assert asked == read_board_file('[board]\nid = "x"\nclass = "286"\n')


def test_absent_is_unknown_never_zero_or_a_default() -> None:
    sheet = read_board_file('[board]\nid = "x"\nclass = "486"\n')
    assert start(sheet).said == {}
    assert (sheet.cache, sheet.cpu, sheet.snoop_line, sheet.ratio_pins_wired) == (None, None, None, None)
    none_fitted = read_board_file('[board]\nid = "x"\nclass = "486"\n[fitted]\ncache = 0\n')
    assert start(none_fitted).said["l2_kb"].value == "0"


def test_all_mistakes_are_listed_at_once_each_with_its_path() -> None:
    text = """
        [board]
        id = "two words"
        clas = "486"
        buses = ["vlb"]
        rails = [{ v = 3300, amps = 5 }, { v = "lots" }]
        sheet_confirmed = "maybe"
        [[jumper]]
        id = "J1"
        positions = ["open", "closed"]
        sets = { bus_mhz = { opn = 33, closed = "33 GHz" } }
        [[jumper]]
        id = "j1"
        positions = ["a"]
        [fitted]
        cache = { kb = 256.5, ns = 15 }
        memory = [{ site = "b0", mb = -4, kind = "fpm" }]
        [now]
        J1 = "left"
        flux = 3
    """
    where = {p.where for p in problems(text)}
    expected = {
        "board.id", "board.clas", "board.class", "board.rails[0].v", "board.rails[1].v", "board.sheet_confirmed",
        "jumper[0].sets.bus_mhz.opn", "jumper[0].sets.bus_mhz.closed", "fitted.cache.kb",
        "fitted.memory[0].mb", "fitted.memory[0].kind", "now.J1", "now.flux",
    }  # fmt: skip
    assert expected <= where
    assert all(p.do for p in problems(text))


def test_a_misspelt_key_names_the_nearest() -> None:
    (found,) = problems('[board]\nid = "x"\nclass = "486"\nsheet_confirmd = true\n')
    assert 'did you mean "sheet_confirmed"' in found.do


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("rails = [{ v = 3450 }]", "3450 V"),
        ("[fitted]\ncache = { kb = 262144 }", "262144 KB"),
        ("[fitted]\ncache = { kb = 256, ns = 15000 }", "15000 ns"),
        ('[[jumper]]\nid = "J"\npositions = ["a"]\nsets = { bus_mhz = { a = 33333333 } }', "33333333"),
        ('[[jumper]]\nid = "J"\npositions = ["a"]\nsets = { core_v = { a = 3450 } }', "3450"),
    ],
)
def test_unit_slips_are_caught_with_the_value(line: str, words: str) -> None:
    found = problems(f'[board]\nid = "x"\nclass = "486"\n{line}\n')
    assert len(found) == 1
    assert words in found[0].text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[board",
        "id = 'x'",
        "board = 3",
        "[board]\nid = 3\n[board]\nid = 4",
        "\x00",
        "[[board]]\nid = 'x'",
    ],
)
def test_malformed_files_give_one_clear_error(text: str) -> None:
    found = problems(text)
    assert found
    assert all(p.code == "board_file" for p in found)


def test_a_huge_file_and_a_deep_one_are_refused() -> None:
    assert "limit" in problems("#" * 1_000_001)[0].text
    assert "board_file" in {p.code for p in problems("a = " + "[" * 5000 + "]" * 5000)}


def test_numbers_of_any_size_are_mistakes_not_crashes() -> None:
    text = (
        f'[board]\nid = "x"\nclass = "486"\nrails = [{{ v = {"9" * 500} }}, {{ v = nan }}, {{ v = inf }}]\n'
    )
    assert len(problems(text)) == 3


@pytest.mark.parametrize(
    ("typed", "ratio"),
    [("1/3", "1/3"), ("/3", "1/3"), ("3", "1/3"), ("2/3", "2/3"), ("/1.5", "2/3"), ("1.5", "2/3"), ("1/1", "1"),
     ("0.33", "1/3"), ("0.5", "1/2"), ("0.67", "2/3"), ("/4", "1/4")],
)  # fmt: skip
def test_dividers_as_people_write_them(typed: str, ratio: str) -> None:
    text = f'[board]\nid = "x"\nclass = "slot1"\n[dividers]\npci = {{ 100 = "{typed}" }}\n'
    assert read_board_file(text).dividers["pci"]["100"] == str(Fraction(ratio))


def test_a_processor_may_be_written_out_in_the_file() -> None:
    text = '[board]\nid = "x"\nclass = "slot1"\n[fitted]\ncpu = { id = "mine", v = 2.0, mhz = 550, locked = 5.5 }\n'
    sheet = read_board_file(text)
    assert sheet.cpu == "mine"
    assert sheet.cpu_row is not None
    made = described_processor(sheet.cpu_row, "mine", catalogue())
    assert (made.v_typ, made.rated_mhz, made.locked) == (2.0, 550, Fraction(11, 2))
    (wrong,) = problems(text.replace("mhz =", "mghz ="))
    assert wrong.where == "fitted.cpu"
    assert "mghz" in wrong.text


_LEAF = st.one_of(
    st.text(max_size=8),
    st.integers(-(10**30), 10**30),
    st.floats(allow_nan=True, allow_infinity=True),
    st.booleans(),
    st.sampled_from(["?", "1-2", "33.33", "100/3", "1/0", "default", "-"]),
)
_KEYS = st.sampled_from(
    ["id", "class", "buses", "rails", "rails_v", "dividers", "pci", "jumper", "option", "positions", "sets",
     "bus_mhz", "ratio", "members", "at_mm", "card", "slot", "bus", "master", "fitted", "cpu", "cache", "kb",
     "memory", "site", "mb", "now", "board", "interposer", "v", "ratio_straps", "clock_table_mhz", "rig", "leave"]
)  # fmt: skip
_TREE = st.recursive(
    _LEAF,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(_KEYS, inner, max_size=5)),
    max_leaves=25,
)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        escaped = "".join(c if c.isalnum() or c in " -/.?" else f"\\U{ord(c):08x}" for c in value)
        return f'"{escaped}"'
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return repr(value)


@settings(max_examples=250, deadline=None)
@given(st.dictionaries(_KEYS, _TREE, max_size=8))
def test_any_toml_is_read_or_refused_with_problems(table: dict[str, object]) -> None:
    table = {"board": {"id": "x", "class": "486"}, **table}
    text = "\n".join(f"{key} = {_toml(value)}" for key, value in table.items())
    found = read_or_refuse(text)
    if isinstance(found, BoardSheet):
        assert start(found).state().board == found.id
    else:
        assert all(p.text and p.code == "board_file" for p in found)
        assert found


def read_or_refuse(text: str) -> BoardSheet | tuple[Problem, ...]:
    try:
        return read_board_file(text)
    except LeadoffError as error:
        return error.problems


@pytest.mark.parametrize("typed", ["pipelined", "Pipeline Burst", "pipelined burst"])
def test_a_kind_of_cache_has_one_name_however_it_is_typed(typed: str) -> None:
    sheet = read_board_file(_with_cache(typed))
    assert sheet.cache is not None
    assert sheet.cache.type == "pipelined burst"


def test_a_kind_of_cache_that_there_is_not_is_refused() -> None:
    with pytest.raises(LeadoffError) as refused:
        read_board_file(_with_cache("quick"))
    assert "fitted.cache.type" in refused.value.problems[0].where
    assert "pipelined burst" in refused.value.problems[0].do


def _with_cache(kind: str) -> str:
    return f'[board]\nid = "lock-s7"\nclass = "socket7"\n[fitted]\ncache = {{ kb = 512, type = "{kind}" }}\n'


def test_a_size_with_its_unit_is_answered_with_how_to_write_it() -> None:
    (found,) = problems('[board]\nid = "lock-s7"\nclass = "socket7"\n[fitted]\ncache = { kb = "256k" }\n')
    assert "without a unit" in found.do
