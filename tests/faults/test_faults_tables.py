"""The shipped tables: complete, consistent, sourced; mistakes in a user's file are told all at once."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from leadoff.catalogue import load as load_catalogue
from leadoff.faults import ERAS, Case, Finding, Fitted, chance_to_fix, diagnose, learn, load_knowledge
from leadoff.faults.network import build
from leadoff.faults.prepared import prepare
from leadoff.record.errors import LeadoffError

KB = load_knowledge()


def test_size_of_the_tables():
    links = sum(len(o.links) for o in KB.observations.values())
    assert len(KB.faults) >= 61
    assert len(KB.observations) >= 100
    assert links >= 700
    assert len(KB.hazards) == 17
    assert len(KB.listing) == 11


def test_every_row_names_a_source_that_exists():
    rows = [
        *KB.faults.values(),
        *KB.observations.values(),
        *KB.hazards.values(),
        *KB.rules.values(),
        *KB.post_codes.values(),
        *KB.wordings.values(),
        *KB.substitutes.values(),
        *KB.ways.values(),
        *KB.saves.values(),
        *KB.accepts.values(),
    ]
    assert {r.source for r in rows} <= set(KB.sources)
    assert {o.expect_source for o in KB.observations.values()} <= set(KB.sources)
    assert {s.status for s in KB.sources.values()} <= {"read", "memory", "practice", "judgement"}


def test_the_tables_do_not_disturb_the_catalogue():
    assert not any("fault" in name for name in load_catalogue().own_files)


@pytest.mark.parametrize("era", ERAS)
def test_faults_per_board_and_boards_with_nothing_wrong(era):
    # judgement of the tables: two to three faults on a board sold as not working
    net = build(KB, era)
    real = [i for i, n in enumerate(net.names) if n in KB.faults]
    assert 1.8 < float(net.prior[real].sum()) < 3.2


def test_leakage_is_mild_or_severe_and_never_both():
    net = build(KB, "e486")
    mild, severe = net.index["nicd_mild"], net.index["nicd_traces"]
    for states in net.clusters:
        assert not any(mild in fs and severe in fs for _, fs in states)


def test_over_voltage_raises_the_chance_of_a_dead_processor():
    net = build(KB, "e486")
    over, dead = net.index["reg_over"], net.index["cpu_dead"]
    states = next(s for s in net.clusters if any(over in fs for _, fs in s))
    with_over = sum(p for p, fs in states if over in fs)
    both = sum(p for p, fs in states if over in fs and dead in fs)
    assert both / with_over > 3 * net.prior[dead]


@pytest.mark.parametrize("clock", ["sealed_module", "soldered_pack", "coin_cell"])
def test_only_one_thing_keeps_the_clock_alive(clock):
    net = build(KB, "socket7", kind=clock)
    kinds = KB.kinds
    for k, kind in kinds.items():
        chance = sum(net.prior[net.index[f]] for f in kind.levels if f in net.index)
        assert (chance > 0) == (k == clock)


def test_a_sealed_module_of_the_nineties_is_presumed_flat():
    # common practice, no source
    net = build(KB, "socket7", kind="sealed_module")
    assert net.prior[net.index["rtc_flat"]] == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("fault", "clock"), [("rtc_flat", "sealed_module"), ("sock_oxide", None), ("reg_over", None)]
)
def test_a_repair_leaves_the_share_of_the_chance_that_it_does_not_cure(fault, clock):
    """Not of the odds: a module that was flat with nine in ten is flat with 0.9 x (1 - 0.92) after a new one."""
    done = Finding(observation=f"repair:{fault}", outcome="done")
    before, after = (
        prepare(KB, "socket7", findings, Fitted(clock=clock), "several", ()) for findings in ((), (done,))
    )
    share = 1 - KB.faults[fault].repair.success
    assert after.net.prior[after.net.index[fault]] == pytest.approx(
        before.net.prior[before.net.index[fault]] * share, rel=1e-6
    )
    assert sum(p for p, _ in after.net.joint[0]) == pytest.approx(1)


def test_users_rows_replace_ours_and_mistakes_come_together(tmp_path):
    good = tmp_path / "mine.toml"
    good.write_text('[[hazard]]\nid = "hz_esd"\nseverity = 2\ntext = "my own"\nsource = "judge"\n')
    assert load_knowledge([good]).hazards["hz_esd"].text == "my own"
    assert load_knowledge([good]).digest != KB.digest
    bad = tmp_path / "bad.toml"
    bad.write_text(
        '[[hazard]]\nid = "x"\nseverity = "much"\ntext = ""\nsource = "judge"\n'
        '[[hazard]]\nid = "y"\nseverity = 1\ntext = ""\nsource = "nobody"\n[[gadget]]\nid = "z"\n'
    )
    with pytest.raises(LeadoffError) as caught:
        load_knowledge([bad, tmp_path / "missing.toml"])
    texts = " | ".join(p.text for p in caught.value.problems)
    assert "bad.toml: hazard x" in texts
    assert "[[gadget]] is no fault table" in texts
    assert "source nobody is not in the list" in texts
    assert "missing.toml cannot be read" in texts


def test_chances_outside_their_range_are_refused(tmp_path):
    file = tmp_path / "f.toml"
    file.write_text('[[raises]]\nparent = "reg_over"\nchild = "cpu_dead"\np = 1.5\nsource = "judge"\n')
    with pytest.raises(LeadoffError, match="outside 0 to 1, so it is no chance"):
        load_knowledge([file])


def test_rates_learn_as_if_the_tables_were_ten_boards():
    p = KB.faults["ram_bad"].prior["e486"]
    cases = [Case(era="e486", faults=("ram_bad",))] * 4 + [Case(era="e486", faults=("cpu_dead",))] * 6
    after = learn(KB, cases).faults["ram_bad"].prior
    assert after["e486"] == pytest.approx((10 * p + 4) / 20)
    assert after["socket7"] == KB.faults["ram_bad"].prior["socket7"]
    assert learn(KB, cases).learnt_from == 10


def test_a_link_learns_from_cases_of_one_fault_only():
    seen = Finding(observation="o_mem_count", outcome="wrong")
    p = KB.observations["o_mem_count"].links["ram_bad"][0]
    alone = learn(KB, [Case(era="e486", faults=("ram_bad",), findings=(seen,))])
    mixed = learn(KB, [Case(era="e486", faults=("ram_bad", "cpu_dead"), findings=(seen,))])
    assert alone.observations["o_mem_count"].links["ram_bad"][0] == pytest.approx((10 * p + 1) / 11)
    assert mixed.observations["o_mem_count"].links["ram_bad"][0] == p


def test_closed_cases_move_the_diagnosis_and_it_says_so():
    finding = [Finding(observation="o_screen", outcome="none")]
    cases = [Case(era="e486", faults=("via_open",))] * 20
    before, after = diagnose(KB, "e486", finding), diagnose(KB, "e486", finding, cases=cases)
    assert after.explanations[0].fault == "via_open" != before.explanations[0].fault
    assert after.learnt_from == 20
    assert any("20 closed cases" in m.text for m in after.marks)


def test_repair_odds_follow_the_sellers_words():
    plain = chance_to_fix(KB, "e486")
    assert (
        chance_to_fix(KB, "e486", listing=["p_gave_up"])
        < plain
        < chance_to_fix(KB, "e486", listing=["p_pulled"])
    )
    # judgement of the fact sheet: about seven in ten for a 486 board sold as not working
    assert plain == pytest.approx(0.71, abs=0.04)
    assert chance_to_fix(KB, "e486", skill=1) < plain


def test_unknown_words_and_eras_are_refused():
    with pytest.raises(LeadoffError, match="no rates for the era"):
        diagnose(KB, "z80", [])
    with pytest.raises(LeadoffError, match="is no finding of the tables"):
        diagnose(KB, "e486", [Finding(observation="o_screen", outcome="purple")])
    with pytest.raises(LeadoffError, match="seller's words"):
        diagnose(KB, "e486", [], listing=["p_none"])


def test_importing_and_reading_loads_no_numpy():
    code = "import sys, leadoff.faults as f; f.read_findings(f.load_knowledge(), 'no picture');"
    code += "print('numpy' in sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.strip() == "False"


def test_same_facts_same_answer():
    finding = [
        Finding(observation="o_screen", outcome="none"),
        Finding(observation="o_beeps", outcome="silent"),
    ]
    assert diagnose(KB, "e486", finding) == diagnose(KB, "e486", finding)
    assert np.isfinite(diagnose(KB, "e486", finding).error)
