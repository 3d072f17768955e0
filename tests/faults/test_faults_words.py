"""The person's words to findings, told back; codes with their meanings. Wordings: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.faults import beeps, load_knowledge, post_code, read_findings
from leadoff.record.phrases import ReadingPhrase

KB = load_knowledge()


def pairs(text, **more):
    return [(f.observation, f.outcome) for f in read_findings(KB, text, **more).findings]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("fans spin, nothing on the screen", [("o_power_signs", "fans_spin"), ("o_screen", "none")]),
        ("dead, post C1", [("o_screen", "none"), ("o_card_code", "stops_memory")]),
        ("3 beeps", [("o_beeps", "memory_code")]),
        ("one long two short", [("o_beeps", "video_code")]),
        ("only after reset", [("o_only_reset", "only_after_reset")]),
        ("battery low", [("o_msg_battery", "low")]),
        ("checksum error", [("o_msg_checksum", "checksum")]),
        ("forgets setup", [("o_settings_cold", "lost")]),
        ("keeps settings after a warm restart", [("o_settings_warm", "kept")]),
        ("clock stops", [("o_clock_runs", "stands")]),
        ("hang memcount", [("o_card_code", "stops_memory")]),
        ("swapped the ram, no change", [("o_swap_ram", "no_change")]),
        ("I just swapped the memory module", [("o_swap_ram", "no_change")]),
        ("another psu works", [("o_swap_psu", "fixed")]),
        ("recapped, still dead", [("repair:elec_bad", "done"), ("o_screen", "none")]),
        ("bulged caps", [("o_look_caps", "bulged_or_wet")]),
        ("no leak", [("o_look_batt", "clean")]),
        ("fans do not spin", [("o_power_signs", "nothing")]),
        ("keyboard error; no floppy", [("o_msg_keyboard", "error"), ("o_floppy", "not_found")]),
    ],
)
def test_words(text, expected):
    heard = read_findings(KB, text)
    assert [(f.observation, f.outcome) for f in heard.findings] == expected
    assert not heard.questions
    assert heard.echo


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "fans spin but noting on the screen, no beeps",
            ["o_power_signs fans_spin", "o_screen none", "o_beeps silent"],
        ),
        (
            "only boots after i press reset, battery low, have to do setup every time, hard drive not found "
            "even tho i set it, also warm",
            [
                "o_only_reset only_after_reset",
                "o_msg_battery low",
                "o_settings_cold lost",
                "o_msg_drive not_found",
                "o_settings_warm lost",
            ],
        ),
        (
            "totally dead, fan twitches once, green gunk at the battery",
            ["o_screen none", "o_power_signs twitch", "o_look_batt residue"],
        ),
        (
            "wont boot, monitor stays black, bulging caps near the cpu",
            ["o_screen none", "o_look_caps bulged_or_wet"],
        ),
        (
            "randm freezes after 10 minutes, runs fine with cache off",
            ["o_hang anywhere", "o_cache_off fixed"],
        ),
        ("swapped the ram and the video card, no change", ["o_swap_ram no_change", "o_swap_video no_change"]),
        (
            "asks for setup after every cold boot but keeps settings on warm reboot",
            ["o_settings_cold lost", "o_settings_warm kept"],
        ),
        ("counts only half the ram", ["o_mem_count wrong"]),
        ("post card shows C1", ["o_card_code stops_memory"]),
        ("no picture, post card shows 00", ["o_screen none", "o_card_code no_code"]),
        ("swapped the cpu and now it works", ["o_swap_cpu fixed"]),
        ("cleaned the gunk, traces eaten", ["repair:nicd_mild done", "o_look_batt eaten"]),
        (
            "replaced the tantalum, now it boots fine",
            ["repair:tant_short done", "o_card_code boots", "o_screen picture"],
        ),
        ("replaced the battery, still loses settings", ["repair:coin_flat done", "o_settings_cold lost"]),
    ],
)
def test_a_stranger_s_own_words_and_slips(text, expected):
    heard = read_findings(KB, text)
    assert [f"{f.observation} {f.outcome}" for f in heard.findings] == expected
    assert not heard.questions


def test_a_slip_is_told_back_and_never_turns_a_meaning_round():
    assert read_findings(KB, "noting on the screen").respelt == (("noting", "nothing"),)
    assert not read_findings(KB, "batery nott low").findings


def test_a_slip_that_is_not_used_is_told_as_it_was_typed():
    heard = read_findings(KB, "no picture, exploded in the past")
    assert not heard.respelt
    assert heard.questions[0].words == "exploded past"


def test_what_was_done_and_is_not_understood_is_never_passed_over():
    assert read_findings(KB, "no picture, soldered the dingbat").questions[0].words == "soldered dingbat"
    after = read_findings(KB, "reflowed the chipset, no change")
    assert "what does it do now" in after.questions[0].question


def test_what_does_not_boot_is_asked_back_until_the_picture_is_known():
    assert "is there a picture" in read_findings(KB, "won't boot").questions[0].question
    assert not read_findings(KB, "won't boot, no picture").questions


def test_a_negation_is_not_read_as_its_opposite():
    heard = read_findings(KB, "battery not low")
    assert not heard.findings
    assert heard.questions


def test_what_is_not_understood_becomes_a_question_and_is_not_dropped():
    heard = read_findings(KB, "no picture, the flux capacitor hums")
    assert [(f.observation, f.outcome) for f in heard.findings] == [("o_screen", "none")]
    assert "flux" in heard.questions[0].words


def test_the_mode_is_heard():
    assert read_findings(KB, "exactly one fault, no picture").mode == "exactly_one"
    assert read_findings(KB, "no picture").mode is None


@pytest.mark.parametrize(
    ("what", "value", "unit", "expected"),
    [
        ("5v", 4.92, "V", [("o_rail_5v", "ok"), ("o_rail_5v_high", "ok")]),
        ("5v", 4.6, "V", [("o_rail_5v", "low"), ("o_rail_5v_high", "ok")]),
        ("5v", 5.6, "V", [("o_rail_5v", "ok"), ("o_rail_5v_high", "high")]),
        ("vbat", 2.1, "V", [("o_batt_v", "low")]),
        ("pg", 4.9, "V", [("o_pg_board", "high")]),
        ("r5", 38.0, "ohm", [("o_r_5v", "normal")]),
        ("r5", 1.2, "ohm", [("o_r_5v", "short")]),
    ],
)
def test_figures_have_two_sides(what, value, unit, expected):
    # source: ATX12V design guide, +5 V within 5 %; power-good above 2.4 V; ohms: common practice, no source
    phrase = ReadingPhrase(text=f"{what} {value}", what=what, value=value, lo=value, hi=value, unit=unit)
    assert pairs("", phrases=[phrase]) == expected


@pytest.mark.reference
def test_codes_name_the_step_that_was_started():
    # source: firmware maker's lists in board manuals (see the rows): C1 memory detection, D3 memory sizing next
    assert [c.meaning for c in post_code(KB, "c1h")] == [
        "memory detection: size, type; then second-level cache size",
        "memory found and sized",
    ]
    assert post_code(KB, "D3")[0].outcome == "stops_memory"
    assert beeps(KB, "1-3-1-1")[0].meaning == "memory refresh test"
    assert beeps(KB, "8 beeps")[0].outcome == "video_code"


def test_a_code_that_families_read_differently_is_a_question():
    heard = read_findings(KB, "post 28")
    assert not heard.findings
    assert "first code D0" in heard.questions[0].question
    assert pairs("post 28, first code d0") == [("o_card_code", "stops_video")]
    assert pairs("post 28, beeps in groups") == [("o_card_code", "stops_memory")]
    assert pairs("post 01", family="286_before_1990") == [("o_card_code", "stops_early")]
    assert "no table has this code" in read_findings(KB, "post 7E").questions[0].question


@pytest.mark.reference
@pytest.mark.parametrize(
    ("family", "code", "outcome"),
    [
        ("first_codes_d0_d1", "2E", "stops_video"),
        ("first_codes_d0_d1", "4F", "stops_memory"),
        ("first_codes_d0_d1", "60", "stops_late"),
        ("checkpoints_from_01", "22", "stops_memory"),
        ("beep_groups", "EF", "stops_memory"),
        ("first_codes_c0_before_1999", "31", "stops_memory"),
        ("first_codes_c0_before_1999", "0D", "stops_video"),
        ("at_of_1984", "1B", "stops_memory"),
        ("286_before_1990", "42", "stops_late"),
    ],
)
def test_codes_of_published_lists(family, code, outcome):
    # source: appendices of server board manuals and of a single-board computer (see the rows): 2Eh after the
    # display firmware, 4Fh the running memory test, 60h DMA page registers, 22h first 64 KB, EFh boot block's test;
    # board manuals of 1997: 31h memory tested, 0Dh display set up; AT lists: 1Bh second 64 KB; before 1990: 42h DMA
    rows = post_code(KB, code, family)
    assert len(rows) == 1
    assert rows[0].outcome == outcome
    assert KB.sources[rows[0].source].status == "read"


def test_a_code_stands_once_in_its_family():
    keys = [(c.family, c.kind, c.code) for c in KB.post_codes.values()]
    assert len(keys) == len(set(keys))
    assert len(keys) > 350


def test_the_same_first_code_of_two_generations_is_asked_about():
    """C0 comes first before 1999 and after: what follows means another thing."""
    heard = read_findings(KB, "post 0e, first code c0")
    assert not heard.findings
    assert pairs("post 0e, first code c0 before 1999") == [("o_card_code", "stops_video")]
    assert pairs("post 0e, first code cf") == [("o_card_code", "stops_memory")]
    assert pairs("post c1, first code c0") == [("o_card_code", "stops_memory")]
    assert pairs("1-4-1 beeps") == [("o_beeps", "memory_code")]
    assert pairs("3-3-4 beeps") == [("o_beeps", "video_code")]


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60))
def test_any_text_gives_findings_or_questions(text):
    heard = read_findings(KB, text)
    for f in heard.findings:
        assert f.observation.startswith("repair:") or f.outcome in KB.observations[f.observation].outcomes
