"""Runs that are counted and dated, found by search over the invented book; and dates as people say them."""

from __future__ import annotations

import pytest

from leadoff.claims.search.runs import runs
from leadoff.claims.search.talk import Reading, said_of, talk_of
from leadoff.claims.spoken.dates import dates_in, on_date, side_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names
from leadoff.claims.spoken.plain import spelled


def reading(book: tuple[Evidence, Names], text: str, before: tuple[str, ...] = ()) -> Reading | None:
    evidence, names = book
    return runs(talk_of(text, [said_of(s, evidence, names) for s in before], evidence, names))


SAID = (
    ("I made sixty-two runs all told, over exactly one year and a day.", (), "supported"),
    ("The book has seventy runs in it.", (), "contradicted"),
    ("Thirteen of the runs were made on the PCI 486.", (), "supported"),
    ("The Larch got fifteen runs, more than anybody.", (), "contradicted"),
    ("It was run fourteen times, more often than any other board.", ("The Alder.",), "supported"),
    ("It was run fourteen times, more often than any other board.", ("The Cedar.",), "contradicted"),
    ("The Larch and the Elm have eleven runs each.", (), "supported"),
    ("Six of my runs never gave a figure.", (), "supported"),
    ("Every run in the book ended with a reading.", (), "contradicted"),
    ("More than half of all runs were made in the corridor.", (), "supported"),
    ("A quarter of all runs were made in the corridor.", (), "contradicted"),
    ("The scroll was run twice on the Cedar.", (), "contradicted"),
    ("The Birch has two ray traces to its name.", (), "supported"),
    ("Only two of the runs are from 2020.", (), "supported"),
    ("It all began with the Alder.", (), "contradicted"),
    ("Its first run is dated the thirteenth of November 2019.", ("The Slot 1.",), "supported"),
    ("All of the Larch's runs were made before April 2019.", (), "supported"),
    ("The Birch was on the bench from June to August 2019.", (), "supported"),
    ("I had the Cedar on the bench from May to July 2019.", (), "contradicted"),
    ("I never ran anything on the Larch after March.", (), "supported"),
    ("Nothing was run in July 2019.", (), "contradicted"),
    ("In February 2019, on the twenty-second.", ("When did the Larch hang?",), "supported"),
    ("That was in November.", ("When did the Cedar hang at 83?",), "contradicted"),
    ("The Elm went dark on me in January 2020.", (), "supported"),
    ("I measured the Birch in every one of the five workloads.", (), "supported"),
    ("The ISA card was never in the Cedar for the corridor.", (), "supported"),
    ("Two runs of the Larch came to nothing, the hang and the ray trace.", (), "supported"),
    ("No run of mine is later than New Year's Eve 2019.", (), "contradicted"),
    ("The last run in the book dates from January 2020.", (), "supported"),
    ("The last run in the book dates from December 2019.", (), "contradicted"),
    ("The first run of the Cedar was made in August 2019.", (), "supported"),
    ("Nothing on the Larch was run after March 2019.", (), "supported"),
    ("Nothing on the Elm was run after December 2019.", (), "contradicted"),
)
"""Invented sentences, so worded by nobody in the sets of sentences."""


@pytest.mark.parametrize(("text", "before", "verdict"), SAID)
def test_it_is_sure_and_right(
    book: tuple[Evidence, Names], text: str, before: tuple[str, ...], verdict: str
) -> None:
    found = reading(book, text, before)
    assert found is not None
    assert (found.finding.verdict.value, found.sure) == (verdict, True)
    assert found.finding.why


@pytest.mark.parametrize(
    ("text", "before"),
    [
        ("All of them.", ("How many forecasts held?",)),
        ("Thirteen bananas were run on the Birch in June.", ()),
        ("It never made it any further.", ()),
        ("That one never made it any further, no matter what I tried.", ()),
        ("Nothing at all, it can not run the thing.", ("What does the Larch make of the ray trace?",)),
        ("The Birch would have been run in May.", ()),
    ],
)
def test_what_is_not_of_runs_is_never_sure(
    book: tuple[Evidence, Names], text: str, before: tuple[str, ...]
) -> None:
    found = reading(book, text, before)
    assert found is None or not found.sure


@pytest.mark.parametrize(
    ("said", "day", "other"),
    [
        ("the thirty-first of December 2019", "2019-12-31", "2019-12-30"),
        ("on the twenty-second of February", "2019-02-22", "2019-02-20"),
        ("the eleventh of January", "2020-01-11", "2020-11-01"),
        ("at the end of August", "2019-08-27", "2019-08-11"),
        ("in the first days of November 2019", "2019-11-07", "2018-11-07"),
        ("New Year's Eve 2019", "2019-12-31", "2020-12-31"),
        ("in the summer of 2019", "2019-06-10", "2019-09-10"),
        ("early in March, 2019", "2019-03-06", "2019-03-28"),
        ("the second week of July", "2019-07-10", "2019-07-28"),
        ("in late 2019", "2019-11-13", "2019-01-11"),
        ("Feb '19", "2019-02-04", "2020-02-04"),
    ],
)
def test_a_date_is_read_as_it_is_said(said: str, day: str, other: str) -> None:
    found: list[str] = []
    dates_in(f" {spelled(said)} ", lambda d: found.append(d) or "{d0}")  # type: ignore[func-returns-value]
    assert len(found) == 1
    assert on_date(f"{day}T10:00:00", found[0])
    assert not on_date(f"{other}T10:00:00", found[0])
    assert side_of(f"{day}T10:00:00", found[0]) == 0


def test_before_and_after_a_date_without_a_year() -> None:
    assert side_of("2019-02-04", r"\d{4}-03-\d\d", ("2019",)) == -1
    assert side_of("2019-04-04", r"\d{4}-03-\d\d", ("2019",)) == 1
    assert side_of("2020-01-04", r"2019-12-25") == 1
