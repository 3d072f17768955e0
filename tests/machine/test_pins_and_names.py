"""Ratio pins set one by one, and entries that are called like a setting."""

from __future__ import annotations

import pytest
from board_texts import ask, board, catalogue, codes, part

from leadoff.machine.boardfile import read_board_file
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.processors import base_straps
from leadoff.record.errors import LeadoffError
from leadoff.record.moves import Change
from leadoff.record.state import State, Status

PINS = """
[board]
id = "loom-s7"
class = "socket7"
rails = [{ v = 2.8 }]
ratio_pins_wired = ["BF0", "BF1"]
sheet_confirmed = true
[[jumper]]
id = "BF0"
positions = ["open", "closed"]
sets = { BF0 = { open = 1, closed = 0 } }
[[jumper]]
id = "JP9"
positions = ["open", "closed"]
sets = { bf1 = { open = "high", closed = "low" } }
[fitted]
cpu = "FV80503200"
[now]
bus = 66
BF0 = "open"
JP9 = "closed"
"""


def state_of(fold: BoardFold, cpu: str = "FV80503200") -> State:
    return fold.state(part(cpu), base_straps(fold.sheet, catalogue()))


@pytest.mark.reference
@pytest.mark.parametrize(
    ("bf0", "bf1", "cpu", "ratio"),
    [
        ("open", "closed", "FV80503200", "3"),
        ("open", "open", "FV80503200", "7/2"),
        ("closed", "open", "FV80503200", "2"),
        ("closed", "closed", "FV80503200", "5/2"),
        ("open", "open", "p54c-133-3v3", "3/2"),
        ("closed", "open", "K6-2/300AFR", "2"),
        ("closed", "open", "K6-2/400AFR", "6"),
    ],
)
def test_the_pins_make_the_ratio(bf0: str, bf1: str, cpu: str, ratio: str) -> None:
    """BF1 BF0: 11 is 1.5 or 3.5, 10 is 2, 01 is 3, 00 is 2.5; with BF2 open 110 is 2, on late parts 6 (the
    makers' data sheets, in the catalogue)."""
    text = PINS.replace('BF0 = "open"', f'BF0 = "{bf0}"').replace('JP9 = "closed"', f'JP9 = "{bf1}"')
    state = state_of(board(text.replace("FV80503200", cpu)), cpu)
    assert state.value("ratio") == ratio
    assert state.get("ratio").status is Status.KNOWN
    assert state.get("bf0").status is Status.KNOWN  # where the jumper stands is not what it means


def test_a_pin_whose_jumper_is_not_known_leaves_the_ratio_unknown() -> None:
    seen = state_of(board(PINS.replace('JP9 = "closed"', 'JP9 = "?"'))).get("ratio")
    assert seen.status is Status.UNKNOWN
    assert "jp9" in seen.why


def test_pins_of_an_unconfirmed_sheet_give_an_assumed_ratio() -> None:
    assert state_of(board(PINS.replace("sheet_confirmed = true", ""))).get("ratio").status is Status.ASSUMED


@pytest.mark.parametrize("ratio", ["2", "5/2", "3", "7/2"])
def test_a_ratio_is_reached_by_its_pins_and_is_there_then(ratio: str) -> None:
    way = ask(board(PINS), ratio=ratio)
    assert way.state is not None
    assert way.state.value("ratio") == ratio
    assert {c.name for c in way.changes} <= {"bf0", "jp9"}


def test_a_third_pin_that_is_not_wired() -> None:
    assert "ratio_pin" in codes(ask(board(PINS), cpu="K6-2/300AFR", ratio="9/2"))


NAMED = """
[board]
id = "loom-486"
class = "486"
sheet_confirmed = true
[[option]]
id = "{id}"
choices = {choices}
{sets}
[now]
"{id}" = {now}
"""


@pytest.mark.parametrize(
    ("name", "choices", "now", "value"),
    [
        ("bus_mhz", '["33", "40"]', "33", "100/3"),
        ("l2", '["Enabled", "Disabled"]', '"Disabled"', "off"),
        ("l1_policy", '["WT", "WB"]', '"WB"', "wb"),
        ("cas", "[2, 3]", "3", "3"),
        ("l2_read", '["2-1-1-1", "3-2-2-2"]', '"3-2-2-2"', "3-2-2-2"),
    ],
)
def test_an_entry_called_like_a_setting_is_that_setting(
    name: str, choices: str, now: str, value: str
) -> None:
    fold = board(NAMED.format(id=name, choices=choices, now=now, sets=""))
    seen = fold.state().get(name)
    assert (seen.value, seen.status) == (value, Status.KNOWN)


def test_its_choices_may_be_words_of_the_firmware() -> None:
    sets = "sets = { cas = { fast = 2, slow = 3 }, rcd = { fast = 2, slow = 3 } }"
    fold = board(NAMED.format(id="cas", choices='["fast", "slow"]', now='"2"', sets=sets))
    assert (fold.state().value("cas"), fold.state().value("rcd")) == ("2", "2")
    way = ask(fold, cas="3")
    assert way.state is not None
    assert (way.state.value("cas"), way.state.value("rcd")) == ("3", "3")


def test_a_choice_that_is_automatic_says_nothing_of_the_value() -> None:
    fold = board(NAMED.format(id="cas", choices='["auto", "2", "3"]', now='"auto"', sets=""))
    seen = fold.state().get("cas")
    assert seen.status is Status.UNKNOWN
    assert "auto" in seen.why
    way = ask(fold, cas="2")
    assert way.state is not None
    assert way.state.value("cas") == "2"


@pytest.mark.parametrize(
    "sets", ["sets = { rcd = { fast = 2, slow = 3 } }", "sets = { cas = { fast = 2, slow = 2 } }"]
)
def test_a_name_that_would_be_two_things_is_a_mistake(sets: str) -> None:
    with pytest.raises(LeadoffError, match="name of a setting"):
        read_board_file(NAMED.format(id="cas", choices='["fast", "slow"]', now='"fast"', sets=sets))


def test_a_measured_clock_beside_an_entry_of_its_name() -> None:
    fold = board(NAMED.format(id="bus_mhz", choices='["33", "40"]', now="33", sets=""))
    seen = BoardFold(
        sheet=fold.sheet,
        said=after(fold, [Change(name="bus_mhz", before="100/3", after="167/5", measured=True)]),
    )
    assert seen.state().value("bus_mhz") == "167/5"
