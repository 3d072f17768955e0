"""Sixty messy rows with known truth: what is clean goes in, what is not is asked or set aside, nothing is wrong."""

from __future__ import annotations

import pytest
from sheets_mess import ASIDE, ASK, IN, WORKLOADS, Mess, lines, mess, separated, workbook

from leadoff.evidence.facts import Hints, Proposal, Reading, Source
from leadoff.evidence.sheets import read, sniff
from leadoff.record.phrases import Context, FailurePhrase, ScorePhrase, SetPhrase, WorkloadWord
from leadoff.words import parse

CONTEXT = Context(workloads=tuple(WorkloadWord(name=w, unit=u) for w, u in WORKLOADS.items()))


def reading(data: bytes, name: str, **answers: str) -> Reading:
    return read(Source.of(name, data), Hints(workloads=WORKLOADS, answers=answers, board="b", boards=("b",)))


def by_row(made: Mess, found: Reading) -> dict[int, list[Proposal]]:
    """Proposals by the index of the row they came from."""
    places = {id(row): n for n, row in enumerate(made.rows)}
    numbers = {n: places[id(row)] for n, row in enumerate(lines(made), start=1) if id(row) in places}
    out: dict[int, list[Proposal]] = {}
    for p in found.proposals:
        digits = p.place.rpartition("!")[2] if "!" in p.place else p.place.split(",")[0]
        out.setdefault(numbers[int("".join(c for c in digits if c.isdigit()))], []).append(p)
    return out


def check_true(made: Mess, n: int, proposals: list[Proposal], day_known: bool = True) -> None:
    """Every line of a row says what the row really says."""
    truth = made.truth[n]
    assert truth is not None, (n, made.rows[n], [p.line for p in proposals])
    for p in proposals:
        said = parse(p.line, CONTEXT)
        assert not said.questions
        assert {s.name: s.value for s in said.phrases if isinstance(s, SetPhrase)} == truth.settings
        (result,) = (s for s in said.phrases if isinstance(s, ScorePhrase | FailurePhrase))
        wanted = truth.results[str(result.workload)]
        if isinstance(result, ScorePhrase):
            assert result.readings[0].value == wanted, (made.rows[n], p.line)
        else:
            assert result.outcome.value == wanted, (made.rows[n], p.line)
        if day_known:
            assert p.at == truth.day, (made.rows[n], p.at)
    assert {p.workload for p in proposals} == set(truth.results)


@pytest.mark.parametrize("form", ["xlsx", "cp1252", "cp850", "utf-8", "tab"])
@pytest.mark.parametrize("seed", [1, 2])
def test_clean_rows_go_in_and_nothing_else_without_being_asked(form: str, seed: int) -> None:
    made = mess(seed)
    data = {
        "xlsx": workbook,
        "tab": lambda m: separated(m, "\t", "utf-8"),
    }.get(form, lambda m: separated(m, ";", form))(made)
    found = reading(data, f"old.{form}")
    rows = by_row(made, found)
    clean = {n for n, fate in enumerate(made.fate) if fate == IN}
    if form != "xlsx":  # printed, a date in place of a figure is a date without the sheet's word for it
        assert {n for n, fate in enumerate(made.fate) if fate == ASIDE} & set(rows) == set()
    assert set(rows) == clean
    for n, proposals in rows.items():
        check_true(made, n, proposals)
    assert len(found.questions) <= 3
    aside = [q.text for q in found.quarantined]
    for n, fate in enumerate(made.fate):
        if fate == ASIDE:
            words = [str(v) for v in made.rows[n][4:6] if isinstance(v, str) and v]
            assert any(all(w in text for w in words) for text in aside), made.rows[n]


def test_answers_let_the_asked_rows_in_and_only_those() -> None:
    """Slashed dates of this table are of both orders, so the right answer is to leave them out."""
    made = mess(5)
    first = reading(workbook(made), "old.xlsx")
    assert {q.id for q in first.questions} == {"dates", "mark-star", "mark-dash"}
    assert all(q.places >= 1 and q.examples for q in first.questions)
    later = reading(
        workbook(made), "old.xlsx", **{"dates": "skip", "mark-star": "keep", "mark-dash": "not_run"}
    )
    rows = by_row(made, later)
    slashed = {n for n, row in enumerate(made.rows) if made.fate[n] == ASK and "/" in str(row[0])}
    assert set(rows) == {n for n, fate in enumerate(made.fate) if fate in (IN, ASK)} - slashed
    for n, proposals in rows.items():
        if made.rows[n][5] == "-":
            assert [p.workload for p in proposals] == ["w2"]
        else:
            check_true(made, n, proposals)
    assert later.questions == ()


def test_footnotes_are_quoted_in_the_question() -> None:
    (star,) = (q for q in reading(workbook(mess(5)), "x").questions if q.id == "mark-star")
    assert "side panel off" in star.text


def test_sure_of_workbooks_and_modest_about_text() -> None:
    assert sniff(Source.of("x", workbook(mess(1, 5)))) > 0.9
    assert 0.3 < sniff(Source.of("x", separated(mess(1, 5)))) <= 0.6
    assert sniff(Source.of("x", bytes(range(256)) * 8)) == 0.0
