"""The user's own table: the dead-board half of a worked example, and the published order of tests."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.faults import diagnose_table, read_table
from leadoff.record.errors import LeadoffError

CAUSES = {"capacitors": 0.40, "firmware": 0.20, "memory contact": 0.20, "processor": 0.15, "other": 0.05}
TESTS = [
    ("ripple", 3, "capacitors", 0.90, 0.95),
    ("firmware swap", 15, "firmware", 1, 1),
    ("memory reseat", 2, "memory contact", 1, 1),
    ("processor swap", 4, "processor", 1, 1),
]


def table_text(causes=CAUSES, tests=TESTS):
    rows = [f'[[cause]]\nname = "{n}"\np = {p!r}\n' for n, p in causes.items()]
    rows += [
        f'[[test]]\nname = "{n}"\nminutes = {m}\ncause = "{c}"\nsensitivity = {a}\nspecificity = {b}\n'
        for n, m, c, a, b in tests
    ]
    return "\n".join(rows)


TABLE = read_table(table_text())


def chances(found):
    return {e.fault: e.p_present for e in found.explanations}


def test_first_tests_by_chance_per_minute():
    found = diagnose_table(TABLE, ["fans spin, no start"])
    assert found.mode == "exactly_one"
    assert [(t.test, round(t.worth_per_minute, 3)) for t in found.tests[:2]] == [
        ("ripple", 0.133),
        ("memory reseat", 0.100),
    ]


@pytest.mark.reference
def test_after_a_clean_reading():
    # source: Bayes' rule by hand: .40 x .10 / (.40 x .10 + .60 x .95) = .0656, the others x .95 / .61
    found = diagnose_table(TABLE, ["ripple clean"])
    p = chances(found)
    assert p["capacitors"] == pytest.approx(0.066, abs=0.0005)
    assert p["memory contact"] == pytest.approx(0.311, abs=0.0005)
    assert p["firmware"] == pytest.approx(0.311, abs=0.0005)
    assert p["processor"] == pytest.approx(0.234, abs=0.0005)
    assert found.tests[0].test == "memory reseat"


@pytest.mark.reference
def test_after_a_bad_reading():
    # source: Bayes' rule by hand: .40 x .90 / (.40 x .90 + .60 x .05) = .923
    found = diagnose_table(TABLE, ["ripple bad"])
    assert chances(found)["capacitors"] == pytest.approx(0.923, abs=0.0005)
    assert "repair of capacitors" in found.stop


@pytest.mark.reference
@pytest.mark.parametrize(("words", "p"), [("", 0.58), ("ripple clean", 0.127), ("ripple bad", 0.961)])
def test_independent_causes_at_least_one_present(words, p):
    # source: by hand: 1 - product(1 - p) = .690; .40/.690 = .58; .04/(.04 + .95 x .290) = .127;
    # .36/(.36 + .05 x .290) = .961
    found = diagnose_table(TABLE, [words], mode="several")
    assert found.mode == "several"
    assert chances(found)["capacitors"] == pytest.approx(p, abs=0.0006)
    assert any("independent" in m.text for m in found.marks)


def test_the_words_may_name_the_mode():
    assert diagnose_table(TABLE, ["ripple bad, several faults"]).mode == "several"
    assert diagnose_table(TABLE, ["exactly one fault, ripple bad"]).mode == "exactly_one"


def test_results_of_a_proposed_test_add_up_and_say_what_would_lead():
    test = diagnose_table(TABLE).tests[0]
    assert sum(r.p for r in test.results) == pytest.approx(1)
    bad = next(r for r in test.results if r.result == "bad")
    assert bad.p == pytest.approx(0.4 * 0.9 + 0.6 * 0.05)
    assert (bad.leads[0].fault, round(bad.leads[0].p, 3)) == ("capacitors", 0.923)


@pytest.mark.reference
@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 40), st.integers(1, 30)), min_size=2, max_size=5))
def test_the_published_order_of_cost_over_probability_is_the_best(rows):
    # source: decision analysis against expert rules for sequential diagnosis (abstract: the C/p rule): for one
    # fault and perfect tests the best order is rising cost over probability; here against all orders
    total = sum(w for w, _ in rows)
    causes = {f"c{i}": w / total for i, (w, _) in enumerate(rows)}
    tests = [(f"t{i}", m, f"c{i}", 1, 1) for i, (_, m) in enumerate(rows)]
    table = read_table(table_text(causes, tests))
    order, words = [], []
    while len(order) < len(rows) - 1:
        name = diagnose_table(table, words).tests[0].test
        order.append(name)
        words.append(f"{name} clean,")
    order += [t[0] for t in tests if t[0] not in order]

    def expected(names):
        left, cost = 1.0, 0.0
        for n in names:
            i = int(n[1:])
            cost += left * rows[i][1]
            left -= causes[f"c{i}"]
        return cost

    best = min(expected(p) for p in permutations([t[0] for t in tests]))
    # The last test is never needed to know the fault, so orders are compared with it at its own place too.
    assert expected(order) == pytest.approx(best, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("[[cause]]\nname='a'\np=1.4\n", "p = 1.4, which is no chance"),
        ("[[cause]]\nname='a'\np=0.5\n[[test]]\nname='t'\nminutes=0\ncause='a'\n", "takes 0 minutes"),
        ("[[cause]]\nname='a'\np=0.5\n[[test]]\nname='t'\nminutes=1\ncause='b'\n", "is no cause"),
        ("[[cause]]\nname='a'\n", "missing required field"),
        ("[[cause]]\nname='a'\np=.5\n[[oddity]]\nx=1\n", "not TOML|is not known here"),
        ("", "is missing: a table needs"),
        ("[[cause]]\nname='a'\np=0\n", "all zero"),
        ("nonsense = [", "is not TOML"),
    ],
)
def test_bad_tables_say_what_is_wrong(text, match):
    with pytest.raises(LeadoffError, match=match):
        read_table(text)


def test_all_mistakes_at_once():
    with pytest.raises(LeadoffError) as caught:
        read_table(
            "[[cause]]\nname='a'\np=2\n[[cause]]\nname='a'\np=-1\n[[test]]\nname='t'\nminutes=1\ncause='z'\n"
        )
    assert len(caught.value.problems) == 4


def test_chances_that_do_not_add_to_one_are_scaled_and_said():
    found = diagnose_table(read_table(table_text({"a": 0.3, "b": 0.3}, [])))
    assert chances(found) == pytest.approx({"a": 0.5, "b": 0.5})
    assert any("scaled to 1" in m.text for m in found.marks)


def test_two_tests_that_each_found_another_cause_are_a_contradiction():
    found = diagnose_table(
        read_table(table_text(CAUSES, [("t1", 1, "capacitors", 0.9, 0.9), ("t2", 1, "firmware", 0.9, 0.9)])),
        ["t1 bad, t2 bad"],
    )
    assert found.contradictions[0].findings == ("t1", "t2")


def test_impossible_results_are_said():
    with pytest.raises(LeadoffError, match="impossible by the table"):
        diagnose_table(TABLE, ["firmware swap bad, memory reseat bad"])


def test_a_test_said_both_ways_is_refused():
    with pytest.raises(LeadoffError, match="both bad and clean"):
        diagnose_table(TABLE, ["ripple bad, ripple clean"])
