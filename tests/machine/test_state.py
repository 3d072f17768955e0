"""State: known, assumed, unknown or disputed, each with its source; readings end when what they read is changed."""

from __future__ import annotations

import pytest
from board_texts import CAN_386, HALF_KNOWN, LEVER, board, catalogue, part

from leadoff.machine.boardfile import read_board_file
from leadoff.machine.fold import BoardFold, after, start, step
from leadoff.machine.processors import base_straps
from leadoff.record.entries import BoardBody, DidBody
from leadoff.record.moves import Change
from leadoff.record.quantity import Source
from leadoff.record.state import State, Status


def state_of(fold: BoardFold) -> State:
    said = fold.said.get("cpu")
    fitted = part(said.value if said is not None else None)
    return fold.state(fitted, base_straps(fold.sheet, catalogue()))


def did(fold: BoardFold, *changes: Change) -> BoardFold:
    return BoardFold(sheet=fold.sheet, said=after(fold, changes))


def say(fold: BoardFold, name: str, value: str | None, *, measured: bool = False) -> BoardFold:
    old = fold.said.get(name)
    before = old.value if old is not None else None
    return did(fold, Change(name=name, before=before, after=value, said=f"{name} {value}", measured=measured))


def test_positions_of_a_confirmed_sheet_give_known_values_with_their_reason() -> None:
    state = state_of(board(LEVER))
    bus = state.get("bus_mhz")
    assert (bus.value, bus.status, bus.source) == ("200/3", Status.KNOWN, Source.DECLARED)
    assert "jp1 open" in bus.why
    assert state.value("ratio") == "2"


def test_positions_of_an_unconfirmed_sheet_are_only_assumed() -> None:
    state = state_of(board(LEVER.replace("sheet_confirmed = true", "sheet_confirmed = false")))
    assert state.get("jp1").status is Status.KNOWN  # where the jumper stands was seen
    assert state.get("bus_mhz").status is Status.ASSUMED  # what that means was not
    assert "not confirmed" in state.get("bus_mhz").why


def test_unknown_positions_leave_their_settings_unknown_and_say_which() -> None:
    state = state_of(board(HALF_KNOWN))
    for name in ("bus_mhz", "core_v", "ratio", "jp11", "jp99", "l2_write_ws"):
        assert state.get(name).status is Status.UNKNOWN, name
        assert state.get(name).source is Source.UNKNOWN
    assert "jp11" in state.get("bus_mhz").why


def test_a_measured_value_outranks_the_position_and_keeps_what_the_sheet_says() -> None:
    fold = say(board(LEVER.replace("true", "false", 1)), "bus_mhz", "75", measured=True)
    bus = state_of(fold).get("bus_mhz")
    assert (bus.value, bus.status, bus.source) == ("75", Status.KNOWN, Source.MEASURED)
    assert bus.against == "200/3"


@pytest.mark.parametrize("volts", ["3.26", "3.3", "3.38"])
def test_a_regulator_near_its_setting_works_as_set(volts: str) -> None:
    """A judgement of the house: three percent."""
    seen = state_of(say(board(LEVER), "core_v", volts, measured=True)).get("core_v")
    assert (seen.value, seen.status, seen.against) == (volts, Status.KNOWN, "")


def test_a_declared_value_that_differs_from_its_jumper_is_disputed() -> None:
    text = LEVER.replace('JP1 = "open"', 'JP1 = "open"\nbus_mhz = 60')
    bus = state_of(board(text)).get("bus_mhz")
    assert (bus.value, bus.status, bus.against) == ("60", Status.DISPUTED, "200/3")


def test_two_jumpers_that_disagree_are_a_dispute() -> None:
    text = LEVER.replace(
        "[fitted]",
        '[[jumper]]\nid = "JP6"\npositions = ["a", "b"]\nsets = { bus_mhz = { a = 50, b = 60 } }\n[fitted]',
    ).replace('JP5 = "1-2"', 'JP5 = "1-2"\nJP6 = "a"')
    bus = state_of(board(text)).get("bus_mhz")
    assert bus.status is Status.DISPUTED
    assert {bus.value, bus.against} == {"200/3", "50"}


def test_a_position_follows_from_what_is_known_of_its_settings() -> None:
    text = HALF_KNOWN + "\n[now]\nbus = 40\n"
    state = state_of(board(text))
    assert state.get("jp11").value == "2-3 2-3"
    assert (state.get("jp11").status, state.get("jp11").source) == (Status.ASSUMED, Source.COMPUTED)


def test_a_measured_voltage_tells_where_its_jumper_stands() -> None:
    state = state_of(say(board(HALF_KNOWN), "core_v", "3.47", measured=True))
    assert state.get("jp20").value == "3v"


def test_a_position_to_be_left_alone_is_never_inferred() -> None:
    text = HALF_KNOWN.replace("leave = true", 'leave = true\nsets = { parity = { on = "on", off = "off" } }')
    assert state_of(board(text + '\n[now]\nparity = "on"\n')).get("jp99").status is Status.UNKNOWN


@pytest.mark.reference
@pytest.mark.parametrize(
    ("cpu", "open_ratio"),
    [("p54c-133-3v3", "3/2"), ("p55c-200-2v8", "7/2"), ("k6-2-300-2v2", "7/2")],
)
def test_the_same_open_straps_are_another_ratio_on_later_parts(cpu: str, open_ratio: str) -> None:
    """BF pins open: 1.5 on the first 3.3 V parts, 3.5 on those with multimedia extensions (data sheets of the
    parts, in the catalogue with their source)."""
    text = LEVER.replace('cpu = "p54c-133-3v3"', f'cpu = "{cpu}"').replace('JP2 = "closed"', 'JP2 = "open"')
    assert state_of(board(text)).value("ratio") == open_ratio


@pytest.mark.reference
@pytest.mark.parametrize(
    ("cpu", "closed", "opened"),
    [("486dx4-100-wt-3v3", "2", "3"), ("x5-133-3v45-case55", "4", "3")],
)
def test_the_low_ratio_strap_is_two_on_one_486_and_four_on_another(
    cpu: str, closed: str, opened: str
) -> None:
    """CLKMUL low: x2 on the 3.3 V tripled part, x4 on the 3.45 V quadrupled one (data sheets, see catalogue)."""
    text = HALF_KNOWN.replace("486dx4-100-wt-3v3", cpu)
    for position, ratio in (("closed", closed), ("open", opened)):
        assert state_of(board(f'{text}\n[now]\nCLKMUL = "{position}"\n')).value("ratio") == ratio


def test_late_parts_read_the_strap_of_two_as_six() -> None:
    text = LEVER.replace('cpu = "p54c-133-3v3"', 'cpu = "k6-2-400-2v2"')
    seen = state_of(board(text)).get("ratio")
    assert seen.value == "6"  # 110 on the late part (its data sheet, see catalogue); the sheet says 2


def test_a_ratio_the_part_does_not_make_is_not_believed_from_a_sheet() -> None:
    text = HALF_KNOWN.replace("closed = 2", "closed = 4") + '\n[now]\nCLKMUL = "closed"\n'
    seen = state_of(board(text)).get("ratio")
    assert seen.status is Status.UNKNOWN
    assert "does not make" in seen.why


@pytest.mark.parametrize("position", ["open", "closed"])
def test_a_locked_part_ignores_the_straps(position: str) -> None:
    text = HALF_KNOWN.replace("486dx4-100-wt-3v3", "A80486DX2WB66")
    state = state_of(board(f'{text}\n[now]\nCLKMUL = "{position}"\n'))
    assert (state.value("ratio"), state.value("clkmul")) == ("2", position)


def test_a_locked_part_tells_nothing_of_the_straps() -> None:
    state = state_of(board(HALF_KNOWN.replace("486dx4-100-wt-3v3", "A80486DX2WB66")))
    assert state.get("clkmul").status is Status.UNKNOWN


@pytest.mark.reference
@pytest.mark.parametrize("board_class", ["386dx", "386sx", "286"])
def test_the_can_of_a_386_is_twice_its_bus(board_class: str) -> None:
    """CLK2 is twice the processor clock (386 DX hardware reference manual, bus states)."""
    state = state_of(board(CAN_386.replace("386dx", board_class, 1).replace("66.667", "80")))
    assert (state.value("can_mhz"), state.value("bus_mhz")) == ("80", "40")


def test_a_486_can_is_its_bus_only_when_the_sheet_says_so() -> None:
    text = '[board]\nid = "x"\nclass = "486"\n[now]\ncan = 33\n'
    assert state_of(board(text)).value("bus_mhz") is None
    assert state_of(board(text.replace('"486"', '"486"\ncan_divides_by = 1'))).value("bus_mhz") == "100/3"


def test_a_measured_core_clock_ends_when_the_bus_jumper_moves() -> None:
    fold = say(board(LEVER), "core_mhz", "133.4", measured=True)
    assert state_of(fold).value("core_mhz") == "133.4"
    moved = did(fold, Change(name="jp1", before="open", after="1-2"))
    assert state_of(moved).value("core_mhz") is None


@pytest.mark.parametrize(
    "change",
    [Change(name="jp5", before="1-2", after="2-3"), Change(name="interposer", before=None, after="2.8 V")],
)
def test_measured_volts_end_when_what_gives_them_changes(change: Change) -> None:
    fold = say(board(LEVER), "core_v", "3.31", measured=True)
    moved = did(fold, change)
    assert state_of(moved).get("core_v").source is not Source.MEASURED
    back = did(moved, Change(name=change.name, before=change.after, after=change.before or "none"))
    assert state_of(back).get("core_v").source is not Source.MEASURED  # the reading was of another setting


def test_measured_volts_stay_when_another_jumper_moves() -> None:
    fold = say(board(LEVER), "core_v", "3.31", measured=True)
    moved = did(fold, Change(name="jp1", before="open", after="1-2"))
    assert state_of(moved).get("core_v").source is Source.MEASURED


def test_a_jumper_said_to_be_unknown_is_unknown() -> None:
    assert state_of(say(board(LEVER), "jp1", None)).get("bus_mhz").status is Status.UNKNOWN


@pytest.mark.parametrize(
    ("written", "volts", "ratio"),
    [("{ v = 2.8 }", "2.8", "2"), ("{ v = 2.8, ratio_straps = true }", "2.8", None)],
)
def test_an_adapter_decides_the_volts_and_perhaps_the_ratio(
    written: str, volts: str, ratio: str | None
) -> None:
    text = LEVER.replace("[fitted]", f"[fitted]\ninterposer = {written}")
    state = state_of(board(text.replace("p54c-133-3v3", "p55c-200-2v8")))
    assert (state.value("core_v"), state.value("ratio")) == (volts, ratio)
    assert state.value("jp5") == "1-2"  # the board's own jumper stands where it stood
    assert "adapter" in state.get("core_v").why


def test_an_entry_named_like_a_setting_sets_it() -> None:
    state = state_of(board(HALF_KNOWN + "\n[now]\nl2_write_ws = 1\n"))
    assert state.get("l2_write_ws").value == "1"
    assert state.get("l2_write_ws").status is Status.KNOWN


@pytest.mark.parametrize(
    "site",
    [
        '{ site = "b0", mb = 4 }',
        '{ site = "b0" }',
        '{ site = "b0", type = "sdram", ns = 8 }',
        '"b0 4x8 fpm60"',
    ],
)
def test_memory_of_which_little_is_known_can_be_read_back(site: str) -> None:
    from leadoff.safety.judge import judge

    text = f'[board]\nid = "x"\nclass = "386dx"\n[fitted]\nmemory = [{site}]\n'
    fold = board(text)
    assert judge(state_of(fold), fold.sheet, None, catalogue()) != ()


@pytest.mark.parametrize(
    ("name", "doubtful"),
    [("386dx-40", False), ("A80486DX2-66", False), ("486dx2-66", True), ("k6-233", True)],
)
def test_a_name_is_doubtful_only_where_its_rows_differ_in_volts_or_ratios(name: str, doubtful: bool) -> None:
    found = part(name)
    assert found is not None
    assert bool(found.ambiguous) is doubtful
    assert doubtful or found.v_typ == 5.0


class TestSheetReadAgain:
    def again(self, fold: BoardFold, text: str) -> BoardFold:
        found = step(fold, BoardBody(sheet=read_board_file(text), file_text=text))
        assert found is not None
        return found

    def test_a_corrected_declaration_counts(self) -> None:
        fold = board(LEVER)
        assert (
            self.again(fold, LEVER.replace("p54c-133-3v3", "p54c-100-3v3")).said["cpu"].value
            == "p54c-100-3v3"
        )

    def test_a_key_taken_out_is_no_longer_known(self) -> None:
        assert "jp2" not in self.again(board(LEVER), LEVER.replace('JP2 = "closed"', "")).said

    def test_what_was_moved_stays_moved(self) -> None:
        moved = step(board(LEVER), DidBody(board="lever-s5", what="move",
                                           changes=(Change(name="jp1", before="open", after="1-2"),)))  # fmt: skip
        assert moved is not None
        fold = self.again(moved, LEVER.replace('JP5 = "1-2"', 'JP5 = "1-2"\nbus_mhz = 66'))
        assert state_of(fold).get("jp1").value == "1-2"
        assert (state_of(fold).value("bus_mhz"), state_of(fold).get("bus_mhz").status) == ("50", Status.KNOWN)

    def test_a_wiring_corrected_changes_what_the_position_means(self) -> None:
        fold = self.again(board(LEVER), LEVER.replace('"open" = "200/3"', '"open" = 75'))
        assert state_of(fold).value("bus_mhz") == "75"


def test_start_keeps_the_typed_text() -> None:
    assert start(read_board_file(CAN_386)).said["can_mhz"].said == "200/3"


def test_modules_said_by_site_make_the_memory_as_a_whole() -> None:
    fold = did(
        board(LEVER),
        Change(name="ram.b0", before=None, after="4x8 fpm60", said="ram b0 4x8 fpm60"),
        Change(name="ram.b1", before=None, after="2x16 fpm70", said="ram b1 2x16 fpm70"),
    )
    state = state_of(fold)
    assert (state.value("ram_mb"), state.value("ram_type"), state.value("ram_ns")) == ("64", "fpm", None)
    emptied = state_of(
        did(fold, Change(name="ram.b1", before="2x16 fpm70", after="empty", said="ram b1 empty"))
    )
    assert (emptied.value("ram_mb"), emptied.value("ram_ns")) == ("32", "60")
    lost = state_of(did(fold, Change(name="ram.b1", before="2x16 fpm70", after=None, said="ram b1 ?")))
    assert lost.get("ram_mb").status is Status.UNKNOWN
    assert "ram.b1" in lost.get("ram_mb").why


def test_a_size_said_in_the_same_go_stands() -> None:
    fold = did(
        board(LEVER),
        Change(name="ram.b0", before=None, after="4x8 fpm60", said="ram b0 4x8 fpm60"),
        Change(name="ram_mb", before=None, after="16", said="16 MB"),
    )
    assert state_of(fold).value("ram_mb") == "16"
