"""Two readings of one sentence: which counts, and that a doubtful one never speaks against the speaker."""

from __future__ import annotations

from typing import cast

import pytest

from leadoff.claims.search import arbiter
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.plain import Plain
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict


def talk(low: str) -> Talk:
    said = Said(Plain(text=low, low=low), low)
    return Talk(text=low, said=said, before=(), evidence=cast(Evidence, None))


TALK = talk("{b0} is faster")


def said(verdict: Verdict, why: str = "by rules") -> Finding:
    return Finding(verdict=verdict, why=why, refs=("3",))


def settled(monkeypatch: pytest.MonkeyPatch, rules: Verdict, *found: tuple[Verdict, bool]) -> Finding:
    """The finding that counts where the searches read this."""
    readings = [Reading(finding=said(v, "by search"), sure=sure) for v, sure in found]
    monkeypatch.setattr(arbiter, "SEARCHES", tuple(lambda _, r=r: r for r in readings))
    monkeypatch.setattr(arbiter, "parts", lambda talk, read: None)
    return arbiter.settled(TALK, said(rules))


def test_what_names_nothing_is_supported_only_where_a_search_is_sure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(arbiter, "parts", lambda talk, read: None)
    monkeypatch.setattr(arbiter, "SEARCHES", ())
    assert arbiter.settled(TALK, said(V.SUPPORTED)).verdict is V.SUPPORTED
    bare = arbiter.settled(talk("that was the end of it"), said(V.SUPPORTED))
    assert bare.verdict is V.NOT_PLACED
    assert "nothing is named" in bare.why
    sure = Reading(finding=said(V.SUPPORTED), sure=True)
    monkeypatch.setattr(arbiter, "SEARCHES", (lambda _: sure,))
    assert arbiter.settled(talk("that was the end of it"), said(V.SUPPORTED)).verdict is V.SUPPORTED


def test_a_sure_reading_outweighs_the_rules(monkeypatch: pytest.MonkeyPatch) -> None:
    assert settled(monkeypatch, V.CONTRADICTED, (V.SUPPORTED, True)).verdict is V.SUPPORTED
    assert settled(monkeypatch, V.SUPPORTED, (V.UNTESTED, True)).verdict is V.UNTESTED


def test_what_the_book_does_not_have_is_not_borne_out(monkeypatch: pytest.MonkeyPatch) -> None:
    sure = Reading(finding=said(V.SUPPORTED, "by search"), sure=True)
    monkeypatch.setattr(arbiter, "SEARCHES", (lambda _: sure,))
    missing = Finding(verdict=V.NOT_FOUND, why="there is no run 99 in this book", absent=True)
    assert arbiter.settled(TALK, missing).verdict is V.NOT_FOUND
    assert arbiter.settled(TALK, said(V.NOT_FOUND)).verdict is V.SUPPORTED


def test_a_cause_is_borne_out_by_a_search_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(arbiter, "SEARCHES", ())
    monkeypatch.setattr(arbiter, "parts", lambda talk, read: None)
    because = talk("{b0} is faster because of {s0}")
    assert arbiter.settled(because, said(V.SUPPORTED)).verdict is V.NOT_PLACED
    assert arbiter.settled(because, said(V.CONTRADICTED)).verdict is V.CONTRADICTED


def test_where_both_agree_the_rules_give_the_words(monkeypatch: pytest.MonkeyPatch) -> None:
    assert settled(monkeypatch, V.SUPPORTED, (V.SUPPORTED, True)).why == "by rules"


def test_sure_readings_that_disagree_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert settled(monkeypatch, V.UNTESTED, (V.SUPPORTED, True), (V.CONTRADICTED, True)).verdict is V.UNTESTED


def test_a_doubtful_reading_that_holds_takes_back_a_contradiction(monkeypatch: pytest.MonkeyPatch) -> None:
    found = settled(monkeypatch, V.CONTRADICTED, (V.SUPPORTED, False))
    assert found.verdict is V.NOT_PLACED
    assert "read in two ways" in found.why
    assert found.refs == ("3",)


@pytest.mark.parametrize("rules", list(V))
@pytest.mark.parametrize("search", list(V))
def test_a_doubtful_reading_never_makes_a_claim_supported_or_contradicted(
    monkeypatch: pytest.MonkeyPatch, rules: Verdict, search: Verdict
) -> None:
    found = settled(monkeypatch, rules, (search, False)).verdict
    assert found is rules or found not in (V.SUPPORTED, V.CONTRADICTED)
