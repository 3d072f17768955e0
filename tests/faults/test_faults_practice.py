"""What the trade expects, word for word from the bench. Common practice, no source, unless a line says more."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.faults import (
    Bench,
    Finding,
    Fitted,
    diagnose,
    load_knowledge,
    read_findings,
    substitutes,
)
from leadoff.faults.needs import Safety
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level

KB = load_knowledge()
FLAT_MODULE = (
    "starts only after a reset press, says its battery is low, asks for set-up after every start, "
    "finds no disk although the set-up was done, also after a warm restart"
)


def told(text: str) -> list[Finding]:
    heard = read_findings(KB, text)
    assert not heard.questions, heard.questions
    return list(heard.findings)


@pytest.mark.parametrize("era", ["e486", "socket7"])
def test_a_flat_sealed_module_leads_when_the_board_file_says_it_is_fitted(era):
    found = diagnose(KB, era, told(FLAT_MODULE), fitted=Fitted(clock="sealed_module"))
    assert found.explanations[0].fault == "rtc_flat"
    assert found.explanations[0].p_cause >= 0.8


def test_without_knowing_the_clock_part_it_says_what_to_look_at_first():
    found = diagnose(KB, "e486", told(FLAT_MODULE.split(", also")[0]))
    assert found.look_first[0].startswith("What keeps the clock alive")
    assert found.tests[0].test == "o_look_clock_part"


def test_an_external_cell_is_told_apart_by_a_warm_restart():
    # source: clock module data sheet, register D: the bit reads 0 once the cell inside is exhausted
    base = told("battery low, asks for set-up after every start")
    kept = [*base, Finding(observation="o_settings_warm", outcome="kept")]
    lost = [*base, Finding(observation="o_settings_warm", outcome="lost")]
    assert diagnose(KB, "socket7", kept).explanations[0].fault == "coin_flat"
    assert diagnose(KB, "socket7", lost).explanations[0].fault == "rtc_flat"


def test_the_cheapest_separating_test_comes_first_or_second():
    found = diagnose(KB, "socket7", told("battery low, asks for set-up after every start, no disk found"))
    separating = {"o_look_clock_part", "o_settings_warm"}
    assert separating & {t.test for t in found.tests[:2]}


def test_the_repair_of_the_clock_is_accepted_only_after_an_unplugged_hour_and_the_cold_start_stays_open():
    found = diagnose(KB, "socket7", told(FLAT_MODULE), fitted=Fitted(clock="sealed_module"))
    assert found.repair is not None
    assert any("unplug the mains for one hour" in step for step in found.repair.accept)
    assert any("reset press" in line for line in found.repair.retest)
    assert "o_only_reset" in {s.observation for s in found.open_symptoms}


def test_the_start_that_needs_reset_is_explained_by_its_own_when_nothing_else_is_wrong():
    found = diagnose(KB, "socket7", told("starts only after reset"), fitted=Fitted(clock="coin_cell"))
    assert found.symptom == "o_only_reset"
    assert found.explanations[0].fault in {"reset_rc", "psu_bad", "elec_bad"}


@pytest.mark.parametrize(
    ("have", "want", "verdict"), [("64-byte", "128-byte", "part"), ("128-byte", "64-byte", "ok")]
)
def test_clock_modules_of_64_and_128_bytes(have, want, verdict):
    rows = substitutes(KB, "clock_module", have=have, want=want).rows
    assert [r.verdict for r in rows] == [verdict]


def test_the_64_byte_module_names_its_condition_and_how_to_know():
    row = substitutes(KB, "clock_module", have="64-byte").rows[0]
    assert "40h to 7Fh" in row.condition
    assert "40h to 7Fh" in row.test


def test_a_substitute_that_no_table_knows_is_not_known_rather_than_allowed():
    advice = substitutes(KB, "clock_module", have="module of another pinout")
    assert not advice.rows
    assert advice.unknown.startswith("not known")
    with pytest.raises(LeadoffError, match="a guess could destroy the board"):
        substitutes(KB, "chipset")


DEAD = [
    "o_power_signs",
    "o_screen",
    "o_beeps",
    "o_card_code",
    "o_look_batt",
    "o_batt_v",
    "o_r_5v",
    "o_rail_5v",
]
OFF = {
    "o_screen": ["none"],
    "o_beeps": ["silent", "memory_code"],
    "o_card_code": ["no_code", "stops_early", "stops_memory"],
}


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_dead_board_never_lists_a_flat_coin_cell_first(data):
    era = data.draw(st.sampled_from(["e286_386", "e486", "socket7", "slot1", "socket370"]))
    clock = data.draw(st.sampled_from([None, "coin_cell", "external_cell", "sealed_module"]))
    names = data.draw(st.lists(st.sampled_from(DEAD), unique=True, max_size=5))
    findings = [Finding(observation="o_screen", outcome="none")]
    for n in names:
        if n != "o_screen":
            allowed = OFF.get(n, list(KB.observations[n].outcomes))
            findings.append(Finding(observation=n, outcome=data.draw(st.sampled_from(allowed))))
    found = diagnose(KB, era, findings, fitted=Fitted(clock=clock))
    assert found.explanations[0].fault != "coin_flat"


TOOLS = [
    None,
    frozenset({"multimeter"}),
    frozenset({"multimeter", "oscilloscope", "load_resistor", "diagnostic_card"}),
]
SPARES = [None, frozenset({"memory", "processor", "display_card", "supply"})]
RAILS = {"o_r_5v", "o_r_12v", "o_r_neg", "o_psu_load"}


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_no_powered_test_is_proposed_before_its_rail_checks(data):
    """The order of safety holds for any findings, tools and spares."""
    era = data.draw(st.sampled_from(["e286_386", "e486", "socket7", "slot1", "socket370"]))
    pool = [o for o in KB.observations.values() if o.phase in (1, 2, 3) and o.kind == "reading"]
    pool = [o for o in pool if not o.eras or era in o.eras]
    picked = data.draw(st.lists(st.sampled_from(pool), unique_by=lambda o: o.id, max_size=7))
    findings = [Finding(observation="o_screen", outcome="none")]
    findings += [
        Finding(
            observation=o.id, outcome=o.outcomes[data.draw(st.sampled_from([0, 0, 0, len(o.outcomes) - 1]))]
        )
        for o in picked
    ]
    bench = Bench(tools=data.draw(st.sampled_from(TOOLS)), spares=data.draw(st.sampled_from(SPARES)))
    found = diagnose(KB, era, findings, bench=bench, top=10)
    normal = {f.observation for f in findings if KB.observations[f.observation].outcomes[0] == f.outcome}
    safety = Safety(KB, era, {}, frozenset(), bench, running=False)
    before: set[str] = set()
    for t in found.tests:
        o = KB.observations[t.test]
        if safety.powered(o):
            assert normal | before >= RAILS, t.test
            if "cpu_fitted" in o.requires:
                assert "o_rail_5v" in normal | before
        before.add(t.test)


def test_a_shorted_rail_stops_every_powered_test_and_is_marked_red():
    findings = told("fans spin, no picture, 5v shorted")
    found = diagnose(KB, "e486", findings, top=20)
    safety = Safety(KB, "e486", {}, frozenset(), Bench(), running=False)
    assert not [t for t in found.tests if safety.powered(KB.observations[t.test])]
    assert [m.code for m in found.marks if m.level is Level.RED] == ["faults.no_power"]


def test_after_the_rails_are_checked_powered_tests_open():
    findings = told("no picture, rails checked, psu tested ok, tantalums ok, orientation ok, battery clean")
    safety = Safety(KB, "e486", {}, frozenset(), Bench(), running=False)
    found = diagnose(KB, "e486", findings, top=20)
    assert [t for t in found.tests if safety.powered(KB.observations[t.test])]


def test_only_tests_that_tools_and_spares_allow():
    findings = told("fans spin, no picture")
    bench = Bench(tools=frozenset({"multimeter"}), spares=frozenset({"memory"}))
    found = diagnose(KB, "e486", findings, bench=bench, top=30)
    for t in found.tests:
        o = KB.observations[t.test]
        assert set(o.spares) <= {"memory"}
        assert not {"oscilloscope", "diagnostic_card", "programmer"} & set(o.tools)
    assert any("that you have" in b.why for b in found.blocked)


def test_contradictory_findings_are_named_and_not_averaged():
    found = diagnose(KB, "e486", told("no picture, battery clean, traces eaten"))
    assert found.contradictions[0].findings == ("o_look_batt",)
    assert "neither is used: repeat it" in found.contradictions[0].text
    again = diagnose(
        KB, "e486", told("no picture, battery clean") + told("traces eaten") + told("battery clean")
    )
    assert not again.contradictions
    pair = told("no picture, one short beep, no rom activity, no 14.318")
    assert any("hardly go together" in c.text for c in diagnose(KB, "e486", pair).contradictions)


def test_a_second_look_that_sees_more_counts():
    found = diagnose(KB, "e486", told("no picture, battery leaked") + told("traces eaten"))
    assert not found.contradictions
    assert any("eaten now counts" in line for line in found.set_aside)
    assert found.explanations[0].fault == "nicd_traces"


def test_leakage_forbids_power_and_says_what_opens_the_way():
    found = diagnose(KB, "e286_386", told("no picture, battery leaked"))
    red = [m.text for m in found.marks if m.level is Level.RED]
    assert len(red) == 1
    assert "no power on this board until that is repaired" in red[0]
    assert "neutralise" in red[0]
    cleaned = diagnose(
        KB, "e286_386", told("no picture, battery leaked") + told("cleaned the leak, no picture")
    )
    assert not [m for m in cleaned.marks if m.level is Level.RED]


def test_the_mode_is_printed():
    findings = told("no picture, battery leaked")
    several = diagnose(KB, "e486", findings)
    one = diagnose(KB, "e486", findings, mode="exactly_one")
    assert (several.mode, one.mode) == ("several", "exactly_one")
    assert any("exactly one fault" in m.text for m in one.marks)
    assert sum(e.p_present for e in one.explanations) <= 1 + 1e-9
    with pytest.raises(LeadoffError, match="is no mode"):
        diagnose(KB, "e486", findings, mode="two")


def test_a_swap_that_the_person_did_is_as_good_as_a_proposed_one():
    before = diagnose(KB, "e486", told("no picture, post C1"))
    after = diagnose(KB, "e486", told("no picture, post C1, swapped the ram, no change"))
    chance = [{e.fault: e.p_cause for e in d.explanations}.get("ram_bad", 0.0) for d in (before, after)]
    assert chance[1] < 0.3 * chance[0]


def test_parts_that_are_not_fitted_cannot_fail():
    findings = told("hangs at random")
    absent = Fitted(absent=frozenset({"cache"}))
    names = {e.fault for e in diagnose(KB, "e486", findings, fitted=absent).explanations}
    assert not names & {"cache_bad", "tag_bad", "cache_fake", "cache_jumper"}
    assert names != {e.fault for e in diagnose(KB, "e486", findings).explanations}


def test_a_repair_sets_aside_what_it_may_have_changed():
    found = diagnose(KB, "socket7", told("bulged caps, no picture, recapped, still dead"))
    assert any("Electrolytic" in line for line in found.set_aside)
    assert found.explanations[0].fault != "elec_bad"


def test_a_repair_leaves_what_it_cannot_have_changed():
    told_before = told("no picture, fan twitches, battery leaked")
    found = diagnose(KB, "e286_386", [*told_before, *told("cleaned the leak, battery clean")])
    assert "o_power_signs" in {s.observation for s in found.open_symptoms}
    assert not any(line.startswith("Battery area") for line in found.set_aside)
    assert any(line.startswith("Picture") for line in found.set_aside)


def test_save_first_before_a_clock_module_is_pulled():
    found = diagnose(KB, "socket7", told(FLAT_MODULE), fitted=Fitted(clock="sealed_module"))
    assert any("Photograph every set-up page" in g.what for g in found.save_first)
    assert found.repair is not None
    assert not found.repair.reversible
    assert found.repair.undone
