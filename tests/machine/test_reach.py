"""What the wiring reaches: every cause of a refusal, no way for a refused state, the nearest that can be set."""

from __future__ import annotations

from fractions import Fraction

import pytest
from board_texts import CAN_386, HALF_KNOWN, LEVER, ask, board, catalogue, codes, part

from leadoff.machine.nearest import nearest, reachable_clocks
from leadoff.machine.processors import base_straps
from leadoff.machine.reach import Want

MMX = "p55c-200-2v8"


def changes(way: object) -> dict[str, str | None]:
    return {c.name: c.after for c in way.changes}  # type: ignore[attr-defined]


def test_wanted_settings_become_positions() -> None:
    way = ask(board(LEVER), bus_mhz="60", ratio="3/2")
    assert way.reachable
    assert changes(way) == {"jp1": "2-3", "jp2": "open"}
    assert way.state is not None
    assert (way.state.value("bus_mhz"), way.state.value("ratio")) == ("60", "3/2")


def test_what_is_set_already_needs_no_change() -> None:
    assert ask(board(LEVER), bus_mhz="200/3", ratio="2").changes == ()


def test_a_ratio_whose_pin_is_not_wired_is_refused_by_name() -> None:
    way = ask(board(LEVER), cpu=MMX, ratio="3", bus_mhz="200/3")
    assert codes(way) == ["ratio_pin"]
    assert "BF1" in way.causes[0].text
    assert (way.changes, way.state) == ((), None)


def test_all_causes_are_told_at_once() -> None:
    way = ask(board(LEVER), cpu=MMX, ratio="3", bus_mhz="75", core_v="2.8")
    assert codes(way) == ["not_on_sheet", "not_on_sheet", "ratio_pin"]


def test_a_ratio_that_the_part_does_not_decode() -> None:
    assert "ratio_part" in codes(ask(board(LEVER), cpu=MMX, ratio="3/2"))


def test_the_same_straps_are_asked_for_by_what_the_part_makes_of_them() -> None:
    way = ask(board(LEVER), cpu=MMX, ratio="7/2")
    assert way.reachable
    assert changes(way)["jp2"] == "open"


def test_a_locked_part_refuses_another_ratio_and_takes_its_own() -> None:
    fold = board(HALF_KNOWN.replace("486dx4-100-wt-3v3", "A80486DX2WB66"))
    assert codes(ask(fold, ratio="3")) == ["ratio_locked"]
    assert ask(fold, ratio="2", bus_mhz="40").reachable


def test_a_bus_clock_that_is_not_on_the_sheet_lists_those_that_are() -> None:
    way = ask(board(LEVER), bus_mhz="83")
    assert codes(way) == ["not_on_sheet"]
    assert all(word in way.causes[0].text for word in ("50 MHz", "60 MHz", "66.67 MHz"))


def test_one_jumper_wanted_in_two_positions_is_a_conflict() -> None:
    text = LEVER.replace(
        'sets = { ratio = { open = "3/2", closed = 2 } }',
        'sets = { ratio = { open = "3/2", closed = 2 }, l2_write_ws = { open = 0, closed = 1 } }',
    )
    way = ask(board(text), ratio="2", l2_write_ws="0")
    assert codes(way) == ["conflict"]
    assert "jp2" in way.causes[0].text
    assert codes(ask(board(LEVER), jp1="1-2", bus_mhz="60")) == ["conflict"]


def test_a_jumper_to_be_left_alone_is_not_moved() -> None:
    assert codes(ask(board(HALF_KNOWN), jp99="on")) == ["leave"]


def test_a_position_that_does_not_exist() -> None:
    way = ask(board(LEVER), jp1="5-6")
    assert codes(way) == ["position"]
    assert "1-2, 2-3, open" in way.causes[0].text


@pytest.mark.parametrize(
    ("wanted", "bus", "ratio"),
    [
        ({"core_mhz": "100", "bus_mhz": "200/3"}, "200/3", "3/2"),
        ({"core_mhz": "100", "ratio": "2"}, "50", "2"),
        ({"core_mhz": "90"}, "60", "3/2"),
        ({"core_mhz": "100"}, "200/3", "3/2"),  # 2 x 50 gives it too, but moves two jumpers
        ({"core_mhz": "400/3", "bus_mhz": "200/3", "ratio": "2"}, "200/3", "2"),
    ],
)
def test_a_core_clock_is_a_bus_clock_and_a_ratio(wanted: dict[str, str], bus: str, ratio: str) -> None:
    way = ask(board(LEVER), **wanted)
    assert way.state is not None
    assert (way.state.value("bus_mhz"), way.state.value("ratio")) == (bus, ratio)
    assert "core_mhz" not in changes(way)


def test_a_core_clock_that_no_pair_gives_names_the_nearest() -> None:
    way = ask(board(LEVER), core_mhz="110")
    assert codes(way) == ["core_clock"]
    assert "120" in way.causes[0].text


def test_a_core_clock_against_bus_and_ratio_is_a_conflict() -> None:
    assert codes(ask(board(LEVER), core_mhz="120", bus_mhz="60", ratio="3/2")) == ["conflict"]


def test_a_locked_part_gets_its_core_clock_from_the_bus() -> None:
    way = ask(board(HALF_KNOWN.replace("486dx4-100-wt-3v3", "A80486DX2WB66")), core_mhz="80")
    assert way.state is not None
    assert way.state.value("bus_mhz") == "40"


def test_a_386_bus_is_reached_by_another_can() -> None:
    way = ask(board(CAN_386), bus_mhz="40")
    assert way.state is not None
    assert way.state.value("can_mhz") == "80"
    assert set(way.by_hand) == {"can_mhz", "bus_mhz"}


def test_a_clock_chip_gives_only_what_its_table_lists() -> None:
    text = CAN_386.replace('buses = ["isa"]', 'buses = ["isa"]\nclock_table_mhz = [25, 33.33, 40]')
    assert codes(ask(board(text), bus_mhz="50")) == ["clock_source"]
    assert ask(board(text), bus_mhz="25").reachable


@pytest.mark.parametrize("adapter", ["2.8 V with ratio straps", "2.8v-straps"])
def test_an_adapter_with_straps_reaches_what_the_board_cannot(adapter: str) -> None:
    way = ask(board(LEVER), cpu=MMX, ratio="3", bus_mhz="200/3", interposer=adapter, core_v="2.8")
    assert way.causes == ()
    assert way.state is not None
    assert (way.state.value("ratio"), way.state.value("core_v")) == ("3", "2.8")
    assert not {c for c in changes(way) if c.startswith("jp")}


def test_a_plain_adapter_keeps_the_boards_straps() -> None:
    assert codes(ask(board(LEVER), cpu=MMX, ratio="3", interposer="2.8 V")) == ["ratio_pin"]
    assert ask(board(LEVER), cpu=MMX, ratio="7/2", interposer="2.8 V").reachable


def test_an_adapter_gives_its_own_volts_only() -> None:
    assert codes(ask(board(LEVER), cpu=MMX, core_v="3.3", interposer="2.8 V")) == ["adapter_volts"]


class TestNearest:
    def found(self, text: str, cpu: str, **wanted: str) -> list[tuple[float, str | None, str]]:
        fold = board(text)
        near = nearest(
            fold,
            [Want(name=n, value=v) for n, v in wanted.items()],
            part=part(cpu),
            base=base_straps(fold.sheet, catalogue()),
            bus_now=Fraction(200, 3),
            ratio_now=Fraction(2),
        )
        return [(round(float(n.core_mhz or 0), 1), n.settings.get("core_v"), n.how) for n in near]

    def test_of_a_part_whose_volts_the_board_lacks(self) -> None:
        found = self.found(LEVER, MMX, ratio="3", bus_mhz="200/3")
        own_straps = [f for f in found if "own ratio straps" in f[2]]
        plain = [f for f in found if "straps from the board" in f[2]]
        other = [f for f in found if "part made for" in f[2]]
        assert [f[:2] for f in own_straps] == [(200.0, "2.8")]
        assert sorted(f[0] for f in plain) == [133.3, 233.3]
        assert [f[0] for f in other] == [133.3]
        assert any("x1.5 on older parts" in f[2] for f in plain)
        assert found[0][0] == 200.0  # the answer that was wanted comes first

    def test_of_a_part_that_fits_is_by_the_boards_own_jumpers(self) -> None:
        found = self.found(LEVER, "p54c-200-3v3", ratio="3", bus_mhz="200/3")
        assert (133.3, "3.3", "by this board's jumpers") in found
        assert not any("part made for" in f[2] for f in found)

    def test_everything_reachable_is_reachable(self) -> None:
        fold = board(LEVER)
        pairs = reachable_clocks(fold, part("p54c-133-3v3"), base_straps(fold.sheet, catalogue()))
        assert sorted(float(b * (r or 0)) for b, r, _ in pairs) == pytest.approx(
            [75, 90, 100, 100, 120, 133.33], rel=1e-4
        )
        assert all(way.reachable for _, _, way in pairs)
