"""Sealed forecasts, and sentences of several claims: invented sentences over the invented book."""

from __future__ import annotations

from itertools import permutations

import pytest

from leadoff.claims.search.arbiter import agreed
from leadoff.claims.search.parts import parts
from leadoff.claims.search.seals import seals
from leadoff.claims.search.talk import Talk, said_of, talk_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names


def talk(text: str, before: tuple[str, ...], evidence: Evidence, names: Names) -> Talk:
    return talk_of(text, [said_of(s, evidence, names) for s in before], evidence, names)


ALDER = ("I sealed a guess for the Alder in the corridor at 40 times 3.",)
BIRCH = ("Birch, 40 times four, write-back on, corridor forecast.",)
ELM = ("Sealed for the Elm at 100 with CAS 3: 112.5 in the corridor.",)
SAID = (
    # Inside or outside of the band.
    ("The board came home inside the bracket.", ALDER, "supported"),
    ("The board came in a good frame under it.", ALDER, "contradicted"),
    ("My prediction for the Birch at 40 times 4 held.", (), "contradicted"),
    ("The forecast for the Birch at 40x3 did not hold.", (), "contradicted"),
    ("The Birch at 160 landed below the bottom of its band.", (), "supported"),
    ("My prediction for the Birch at 40 times 4 was too modest.", (), "contradicted"),
    # By how much, from the middle or an edge.
    ("My prediction for the Birch at 40 times 4 overshot by about a frame.", (), "supported"),
    ("Missed the low edge by half a frame.", BIRCH, "supported"),
    ("Missed the low edge by two frames.", BIRCH, "contradicted"),
    ("We read 112.0, half a frame below the middle.", ELM, "supported"),
    ("It came out two frames above the middle.", ELM, "contradicted"),
    # Never tried, or sealed too late.
    ("The Cedar's forecast for 83 times 2.5 was spot on.", (), "untested"),
    ("The Cedar's forecast for 83 times 2.5 has never been tried.", (), "supported"),
    ("The Cedar's forecast at 75 with CAS 2 was sealed before I ran it.", (), "contradicted"),
    ("The Cedar's forecast at 75 with CAS 2 was written with hindsight.", (), "supported"),
    ("Prediction number 12 was a miss.", (), "not_found"),
    # How many held.
    ("Five forecasts held and just one missed.", (), "supported"),
    ("Four forecasts held and two missed.", (), "contradicted"),
    ("Out of six sealed predictions that were tested, only one was wrong.", (), "supported"),
    ("All but one of them were right.", ("What about the sealed predictions?",), "supported"),
    ("All but two of them were right.", ("What about the sealed predictions?",), "contradicted"),
    ("Not a single forecast has missed.", (), "contradicted"),
    ("Both Elm forecasts held.", (), "supported"),
    ("Both Birch forecasts held.", (), "contradicted"),
)


@pytest.mark.parametrize(("text", "before", "expected"), SAID)
def test_what_is_said_of_forecasts_has_a_sure_reading(
    text: str, before: tuple[str, ...], expected: str, evidence: Evidence, names: Names
) -> None:
    found = seals(talk(text, before, evidence, names))
    assert found is not None
    assert (found.finding.verdict.value, found.sure) == (expected, True)
    assert found.finding.why


COUNTED = (
    ("Eight forecasts were sealed.", (), "supported"),
    ("Nine forecasts were sealed.", (), "contradicted"),
    ("I never sealed a forecast for the ray trace.", (), "supported"),
    ("I never sealed a forecast for the sort.", (), "contradicted"),
    ("All but one of the forecasts were for the corridor.", (), "supported"),
    ("All forecasts were for the corridor.", (), "contradicted"),
    ("The Cedar has two forecasts.", (), "supported"),
    ("Not a single forecast was missed.", (), "contradicted"),
    ("Not one of the forecasts that were put to the test was missed.", (), "contradicted"),
    ("Both were met.", ("Two forecasts were sealed for the Elm.",), "supported"),
    ("Both were met.", ("Two forecasts were sealed for the Birch.",), "contradicted"),
    ("Everything that I sealed for the Birch proved correct.", (), "contradicted"),
    ("5 of the 6 that count landed inside the band.", ("What is the forecast tally?",), "supported"),
    ("It was borne out.", ("I sealed a forecast for the Cedar at 83 times 2.5.",), "untested"),
)


@pytest.mark.parametrize(("text", "before", "expected"), COUNTED)
def test_forecasts_are_counted(
    text: str, before: tuple[str, ...], expected: str, evidence: Evidence, names: Names
) -> None:
    found = seals(talk(text, before, evidence, names))
    assert found is not None
    assert (found.finding.verdict.value, found.sure) == (expected, True)


@pytest.mark.parametrize(
    ("text", "before"),
    [
        ("The weather held.", ("I sealed a forecast for the Elm at 112.",)),
        ("It held.", ("I sealed a forecast for the Elm at 112.", "Then it soaked for 24 hours.")),
        ("My forecast for the Elm at 112 will hold.", ()),
        ("The forecast for the Cedar held.", ()),
        ("No forecast was needed to see it.", ()),
        ("Every forecast for the corridor was sealed by candle light.", ()),
    ],
)
def test_what_is_open_or_of_other_things_is_never_sure(
    text: str, before: tuple[str, ...], evidence: Evidence, names: Names
) -> None:
    found = seals(talk(text, before, evidence, names))
    assert found is None or not found.sure or found.finding.verdict.value != "supported"


def test_the_order_of_what_was_said_before_does_not_matter(evidence: Evidence, names: Names) -> None:
    before = ("I sealed a forecast for the corridor.", "It was for the Birch.", "The bus was at 40, times 4.")
    found = {
        (r.finding.verdict, r.sure)
        for order in permutations(before)
        if (r := seals(talk("The forecast held.", order, evidence, names))) is not None
    }
    assert len(found) == 1


def test_a_wrong_figure_is_never_supported(evidence: Evidence, names: Names) -> None:
    for figure in ("26.9", "31.4", "35"):
        text = f"The forecast for the Birch at 40 times 4 wanted 29.6 and we got {figure}."
        found = seals(talk(text, (), evidence, names))
        assert found is not None
        assert found.finding.verdict.value == "contradicted"


CAS = ("On the Elm I had the bus at 100 and the ratio at 3.5.",)


@pytest.mark.parametrize(
    ("text", "before", "expected"),
    [
        (
            "CAS 2 instead of CAS 3 gained four per cent in the memory copy, and nothing in the corridor.",
            CAS,
            True,
        ),
        (
            "CAS 2 instead of CAS 3 gained nine per cent in the memory copy, and nothing in the corridor.",
            CAS,
            False,
        ),
        (
            "CAS 2 instead of CAS 3 gained four per cent in the memory copy, and nine in the corridor.",
            CAS,
            False,
        ),
    ],
)
def test_several_claims_hold_only_where_each_of_them_does(
    text: str, before: tuple[str, ...], expected: bool, evidence: Evidence, names: Names
) -> None:
    found = parts(talk(text, before, evidence, names), agreed)
    assert (found is not None and found.sure and found.finding.verdict.value == "supported") is expected


def test_a_doubt_over_the_whole_sentence_leaves_no_part_standing(evidence: Evidence, names: Names) -> None:
    text = "It is a myth that CAS 2 gained four per cent in the memory copy, and nothing in the corridor."
    assert parts(talk(text, CAS, evidence, names), agreed) is None
