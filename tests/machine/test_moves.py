"""Moves: a safe order, one act each, minutes that add up, and a way back to every former state."""

from __future__ import annotations

import pytest
from board_texts import CAN_386, HALF_KNOWN, LEVER, ask, board, catalogue, part
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.machine.candidates import position_changes
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.prices import minutes
from leadoff.machine.processors import base_straps
from leadoff.machine.same import differing
from leadoff.record.moves import Change, Move

MIXED = (
    Change(name="jp1", before="open", after="1-2"),
    Change(name="ram_mb", before="16", after="32"),
    Change(name="write_alloc", before="off", after="on"),
    Change(name="l2_write_ws", before="1", after="0"),
    Change(name="turbo", before="on", after="off"),
)


def test_order_is_off_jumpers_swaps_on_then_switches_setup_and_software() -> None:
    acts = moves_for(MIXED, board(LEVER).sheet)
    words = [m.what.split(":")[0].split(",")[0] for m in acts]
    assert words == ["switch off", "jp1", "memory in all", "plug in", "turbo switch off", "set-up",
                     "write allocation in the first-level cache"]  # fmt: skip
    assert [m.n for m in acts] == list(range(1, len(acts) + 1))
    assert [m.power_off for m in acts] == [True, True, True, False, False, False, False]


def test_minutes_are_the_sum_of_the_acts() -> None:
    acts = moves_for(MIXED, board(LEVER).sheet)
    expected = sum(
        map(minutes, ("switch_off", "jumper", "swap", "switch_on", "switch", "setup_visit", "software"))
    )
    assert total_minutes(acts) == pytest.approx(expected)
    assert all(m.minutes > 0 for m in acts)


def test_no_power_cycle_for_what_is_done_with_the_power_on() -> None:
    acts = moves_for([Change(name="l2_write_ws", before="1", after="0")], board(HALF_KNOWN).sheet)
    assert len(acts) == 1
    assert not acts[0].power_off
    assert "Chipset > Cache Write Wait" in acts[0].what


def test_a_second_entry_in_the_same_visit_is_cheaper() -> None:
    one = total_minutes(moves_for([Change(name="cas", before="3", after="2")], board(LEVER).sheet))
    both = (Change(name="cas", before="3", after="2"), Change(name="rp", before="3", after="2"))
    assert total_minutes(moves_for(both, board(LEVER).sheet)) < 2 * one


def test_only_the_jumpers_of_a_group_that_move_are_named() -> None:
    acts = moves_for([Change(name="jp11", before="1-2 2-3", after="2-3 2-3")], board(HALF_KNOWN).sheet)
    assert [m.what for m in acts if m.what.startswith("jp")] == ["jp11a: from 1-2 to 2-3"]


def test_an_unknown_position_is_to_be_noted_first() -> None:
    acts = moves_for([Change(name="jp11", before=None, after="2-3 2-3")], board(HALF_KNOWN).sheet)
    assert [("note first" in m.what) for m in acts if m.what.startswith("jp11")] == [True, True]


def test_measured_values_are_no_moves() -> None:
    assert (
        moves_for([Change(name="bus_mhz", before=None, after="40", measured=True)], board(LEVER).sheet) == ()
    )


def test_the_bus_that_follows_from_a_can_is_no_act_of_its_own() -> None:
    way = ask(board(CAN_386), bus_mhz="40")
    whats = [m.what for m in moves_for(way.changes, board(CAN_386).sheet)]
    assert sum("oscillator" in w for w in whats) == 1
    assert not any("bus clock" in w for w in whats)


MEASURE = "plug in, switch on with the socket empty, measure"


def where(acts: tuple[Move, ...], word: str) -> int:
    return next(n for n, m in enumerate(acts) if m.what.startswith(word))


@pytest.mark.parametrize("changed", ["jumper", "part", "adapter", "both"])
def test_the_empty_socket_is_measured_before_a_part_goes_in(changed: str) -> None:
    volts = Change(name="jp5", before="1-2", after="2-3")
    cpu = Change(name="cpu", before="p54c-133-3v3", after="p54c-200-3v3")
    adapter = Change(name="interposer", before=None, after="2.8 V")
    chosen = {"jumper": (volts,), "part": (cpu,), "adapter": (adapter,), "both": (cpu, volts)}[changed]
    acts = moves_for(chosen, board(LEVER).sheet)
    out, measured, fit = where(acts, "processor: take"), where(acts, MEASURE), where(acts, "processor: fit")
    on = where(acts, "plug in, switch on, watch")
    assert 0 < out < measured < fit < on
    assert not acts[measured].power_off
    assert "pin 1" in acts[fit].hazard
    if volts in chosen:
        assert out < where(acts, "jp5") < measured
        assert "3.52 V by the sheet" in acts[measured].what


def test_a_swap_on_a_board_of_one_supply_is_a_plain_swap() -> None:
    acts = moves_for([Change(name="cpu", before="386dx-33", after="NG80386DX-40")], board(CAN_386).sheet)
    assert len(acts) == 3
    assert "pin 1" in acts[1].hazard


POSITIONS = {"jp1": ("1-2", "2-3", "open"), "jp2": ("open", "closed"), "jp5": ("1-2", "2-3")}
_STEP = st.sampled_from(sorted(POSITIONS)).flatmap(
    lambda n: st.tuples(st.just(n), st.sampled_from(POSITIONS[n]))
)


@settings(max_examples=60, deadline=None)
@given(st.lists(_STEP, min_size=1, max_size=8), st.integers(0, 7))
def test_any_walk_of_moves_leads_back(walk: list[tuple[str, str]], at: int) -> None:
    fold = board(LEVER)
    base, fitted = base_straps(fold.sheet, catalogue()), part("p54c-133-3v3")
    seen = [fold]
    for name, position in walk:
        before = fold.state(fitted, base).value(name)
        fold = BoardFold(
            sheet=fold.sheet, said=after(fold, [Change(name=name, before=before, after=position)])
        )
        seen.append(fold)
    goal = seen[min(at, len(seen) - 1)].state(fitted, base)
    here = fold.state(fitted, base)
    names = {n: goal.value(n) for n in POSITIONS}
    way = ask(fold, **{n: v for n, v in names.items() if v is not None})
    back = BoardFold(sheet=fold.sheet, said=after(fold, way.changes)).state(fitted, base)
    assert differing(back, goal) == ()
    moved = {c.name for c in way.changes}
    assert moved == {n for n in POSITIONS if here.value(n) != goal.value(n)}


def test_candidates_touch_no_supply_and_nothing_to_be_left_alone() -> None:
    for text, cpu in ((LEVER, "p54c-133-3v3"), (HALF_KNOWN, "486dx4-100-wt-3v3")):
        fold = board(text)
        state = fold.state(part(cpu), base_straps(fold.sheet, catalogue()))
        sets = list(position_changes(fold, state, part(cpu), most=500))
        touched = {c.name for changes in sets for c in changes}
        assert touched
        assert touched & {"jp5", "jp20", "jp99"} == set()
        assert [len(s) for s in sets] == sorted(len(s) for s in sets)


def test_a_jumper_that_says_what_is_fitted_is_no_candidate() -> None:
    size = '[[jumper]]\nid = "J8"\npositions = ["a", "b"]\nsets = { l2_kb = { a = 128, b = 256 } }\n[fitted]'
    fold = board(HALF_KNOWN.replace("[fitted]", size, 1))
    touched = {c.name for s in position_changes(fold, fold.state(), None, most=500) for c in s}
    assert "j8" not in touched
    assert "clkmul" in touched


def test_candidates_leave_the_straps_of_a_locked_part() -> None:
    fold = board(HALF_KNOWN)
    locked = part("A80486DX2WB66")
    touched = {c.name for s in position_changes(fold, fold.state(locked), locked, most=500) for c in s}
    assert "clkmul" not in touched
    assert "jp11" in touched
