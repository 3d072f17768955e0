"""Hidden truths through the readers: the right cause leads, with its check; where all agrees nothing is disputed."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files

import pytest
from evidence_truths import KINDS, declared, facts, found, healthy

from leadoff.loop.disputing import disputed
from leadoff.record.state import Status

SEEDS = range(6)
ROWS = tomllib.loads(files("leadoff.evidence.data").joinpath("conflicts.toml").read_text(encoding="utf-8"))


def test_there_are_at_least_fifteen_kinds() -> None:
    assert len(KINDS) >= 15
    assert len({hypothesis for _, _, hypothesis in KINDS.values()}) >= 15


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_right_cause_leads_with_its_check(kind: str) -> None:
    make, code, wanted = KINDS[kind]
    row = next(r for r in ROWS["hypothesis"] if r["id"] == wanted and code in r["of"])
    for seed in SEEDS:
        conflict = next((c for c in found(make(seed)) if c.code == code), None)
        assert conflict is not None, (kind, seed)
        lead = conflict.hypotheses[0]
        assert lead.id == wanted, (seed, conflict.text, [(h.id, round(h.p, 2)) for h in conflict.hypotheses])
        assert all(part in lead.check for part in re.split(r"\{\w+\}", row["check"]))
        assert sum(h.p for h in conflict.hypotheses) == pytest.approx(1, abs=0.05)
        assert "{" not in lead.name + lead.check


@pytest.mark.parametrize("seed", range(30))
def test_where_everything_agrees_nothing_is_disputed(seed: int) -> None:
    assert found(healthy(seed)) == ()


@pytest.mark.parametrize("kind", ["ratio jumper moved", "dummy cache chips", "a module not seated"])
def test_the_declared_value_stays_and_is_marked(kind: str) -> None:
    truth = KINDS[kind][0](1)
    before = declared(truth).state
    conflicts = found(truth)
    after = disputed(before, conflicts)
    named = {n for c in conflicts for n in c.disputes if before.value(n) is not None}
    assert named
    for name in named:
        assert after.get(name).status is Status.DISPUTED
        assert after.value(name) == before.value(name)
        assert after.get(name).against
    assert {n for n in after.settings if after.get(n) != before.get(n)} == named


def test_a_text_that_is_only_old_disputes_nothing() -> None:
    (conflict,) = found(KINDS["firmware older than the part"][0](2))
    assert conflict.cosmetic
    assert conflict.disputes == ()
    assert "sweep" in conflict.hypotheses[0].check


def test_the_sweep_settles_whether_old_firmware_is_cosmetic() -> None:
    truth = KINDS["firmware older than the part"][0](3)
    without = {h.id: h.p for h in found(truth, sweep=False)[0].hypotheses}
    with_it = {h.id: h.p for h in found(truth)[0].hypotheses}
    assert with_it["firmware_older"] > without["firmware_older"]
    assert with_it.get("firmware_does_not_enable", 0.0) < without["firmware_does_not_enable"]


def test_two_positions_that_explain_a_clock_are_both_listed_and_a_bus_count_decides() -> None:
    # 40 MHz x 3 timed as 80 MHz: the ratio at 2, or another bus; counting the bus leaves one
    from evidence_truths import Truth

    both = Truth(seed=5, bus="c", ratio=3, true_bus_mhz=80 / 3)
    either = next(c for c in found(both) if c.code == "core_clock")
    assert either.hypotheses[0].id in ("ratio_jumper", "bus_jumper")
    counted = Truth(seed=5, bus="c", ratio=3, true_bus_mhz=80 / 3, bus_counted=True)
    assert [c.code for c in found(counted)] == ["bus_clock"]


def test_every_fact_of_a_truth_has_its_source() -> None:
    for fact in facts(healthy(1)):
        assert fact.file
        assert fact.rank
    assert all(f.digest for f in facts(healthy(1)) if not f.key.startswith("sweep."))


def test_rows_are_whole() -> None:
    for row in ROWS["hypothesis"]:
        assert 0 < row["p"] < 1
        assert row["minutes"] > 0
        assert row["certainty"] == "judgement"
        assert all(0 < v < 1 for v in row.get("clues", {}).values())
