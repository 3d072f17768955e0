"""Readings of sentences on soaks, copies, starts, failures and symptoms, found by search over the invented book."""

from __future__ import annotations

from itertools import permutations

import pytest

from leadoff.claims.search.talk import Reading, said_of, talk_of
from leadoff.claims.search.trials import trials
from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names
from leadoff.claims.spoken.values import Verdict


def reading(book: tuple[Evidence, Names], text: str, before: tuple[str, ...] = ()) -> Reading | None:
    evidence, names = book
    return trials(talk_of(text, [said_of(s, evidence, names) for s in before], evidence, names))


SAID = (
    (
        "The Birch swallowed its torture at 40 times 4, twelve hours without a murmur.",
        (),
        "supported",
    ),
    ("Twelve hours of soak went by and nothing failed.", ("The Cedar on 66 times 3.5.",), "supported"),
    ("The soak there lasted fifteen hours.", ("The Cedar on 66 times 3.5.",), "contradicted"),
    ("Passed its soak.", ("The Cedar at 66 times 3.",), "untested"),
    ("Nobody gave that one a soak.", ("The Cedar at 66 times 3.",), "supported"),
    ("Nobody gave that one a soak.", ("The Cedar at 75 with CAS 2.",), "contradicted"),
    ("Soak-31 was a disaster.", (), "not_found"),
    ("57 for 60 on the copies, so no.", ("The Alder with write-back.",), "supported"),
    ("Four spoilt copies out of sixty on the Alder with write-back.", (), "contradicted"),
    ("Every copy identical.", ("The Larch at 40 without the read wait.",), "supported"),
    ("It woke up on each of the five cold starts.", ("The Elm at 100, CAS 2.",), "supported"),
    ("It woke up on each of the five cold starts.", ("The Alder at 50 times 2, no waits.",), "contradicted"),
    ("Black screen at fifty times three, the Birch will not have it.", (), "supported"),
    ("The Elm lit up fine at 124.", (), "contradicted"),
    ("Two beeps and no picture from the Elm at 124.", (), "contradicted"),
    ("The Cedar froze with the bus at 83.", (), "supported"),
    ("The Cedar froze with the bus at 66.", (), "contradicted"),
    ("Never froze on me.", ("The Elm.",), "supported"),
    ("Dependable as they come.", ("The Elm at 112.",), "untested"),
    ("Shaky at best.", ("The Cedar at 75 with CAS 3.",), "supported"),
    ("The Socket 7 is spotless at 66 times 3.5.", (), "contradicted"),
    ("Since the fuse it wakes after every reset, cured.", ("The Alder had a dead keyboard.",), "supported"),
    ("The com port loses characters no longer.", ("I put a chip in the Birch.",), "untested"),
    ("That diskette drive is still being lost.", ("The Cedar, after the soldering.",), "supported"),
    ("No maths chip in the Larch, so no ray trace there.", (), "supported"),
    ("Of my nine soaks just one failed.", (), "supported"),
    ("Three boards have frozen.", (), "contradicted"),
    ("No board but the Larch and the Cedar has ever hung.", (), "supported"),
    ("The Birch is fixed.", (), "untested"),
    ("Soak 11 is the one to look up.", (), "not_found"),
    ("Nine soaks in all and only one of them failed.", (), "supported"),
    ("Nine soaks in all and two of them failed.", (), "contradicted"),
    ("Cold starts were counted on three of the five boards.", (), "supported"),
    ("Cold starts were counted on three boards, the Larch, the Birch and the Elm.", (), "contradicted"),
    ("Four of the five boards have been soaked.", (), "contradicted"),
    ("Three of the five symptoms are still open, two on the Cedar and one on the Birch.", (), "supported"),
    ("Three of the five symptoms are still open, one on the Cedar and two on the Birch.", (), "contradicted"),
    ("I will not hide that it hung.", ("The Larch at 40, no waits at all.",), "supported"),
    (
        "Three of the five cold starts came to nothing.",
        ("The Alder at 50 times 2, no waits.",),
        "contradicted",
    ),
    ("Five cold starts I gave it, and five times it came up.", ("The Elm at 100, CAS 2.",), "supported"),
    ("After the new fuse the keys react every time.", ("The Alder's keyboard used to die.",), "supported"),
    (
        "A new cell went in and for three nights it has kept time.",
        ("The Elm's clock lost ten minutes a night.",),
        "supported",
    ),
    ("I swapped the chip and they all arrive.", ("The Birch's serial port drops bytes.",), "untested"),
    ("No soak of mine went on longer than the twenty-four hours of the Slot 1.", (), "supported"),
    ("Nobody was soaked longer than the Birch.", (), "contradicted"),
    ("The Birch was never soaked longer than twelve hours.", (), "supported"),
    ("The Birch was never soaked longer than eight hours.", (), "contradicted"),
    ("It fell over with its soak not even half done.", ("The Cedar, 75 times three, CAS 3.",), "supported"),
    (
        "It fell over with its soak more than half done.",
        ("The Cedar, 75 times three, CAS 3.",),
        "contradicted",
    ),
    (
        "The former sat out its soak, the latter did not.",
        ("The Cedar at 66 times 3.5 and at 75 times 3, both with CAS 3.",),
        "supported",
    ),
    (
        "The latter sat out its soak, the former did not.",
        ("The Cedar at 66 times 3.5 and at 75 times 3, both with CAS 3.",),
        "contradicted",
    ),
    ("There it sat out its eight hours.", ("The Cedar at 75 times 3, CAS 3.",), "contradicted"),
    ("I have yet to soak it there.", ("The Larch at 33.",), "supported"),
    ("Not one of the sixty was spoiled.", ("Copies on the Cedar, 66 times 3.5.",), "supported"),
    ("One in sixty came back damaged.", ("The Alder, 40 times three, write-back on.",), "contradicted"),
    ("Three of them came back mangled.", ("Sixty copies on the Alder with write-back.",), "supported"),
    (
        "Five times I pressed the button and five times up it came.",
        ("The Alder at 50 times 2, no waits.",),
        "contradicted",
    ),
    ("Nobody ever counted cold starts on the Larch.", (), "supported"),
    ("Nobody ever counted cold starts on the Birch.", (), "contradicted"),
    ("It starts from cold every single time.", ("The Cedar at 66 times 3.5.",), "untested"),
    ("A retest is still owing.", ("The Birch dropped bytes on the serial port.",), "supported"),
    ("Not one complaint is left open.", ("The Elm.",), "supported"),
    ("Not one complaint is left open.", ("The Cedar.",), "contradicted"),
    ("Three nights and not a minute gone.", ("The Elm's clock lost ten minutes a night.",), "supported"),
    ("It is not answering yet.", ("The Alder's keyboard had died.",), "contradicted"),
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


def test_days_between_two_runs_are_no_length_of_a_soak(book: tuple[Evidence, Names]) -> None:
    before = ("The Cedar at 66 times 3.5 in the corridor.",)
    assert reading(book, "Nine days later nothing had changed.", before) is None
    soaked = reading(book, "It soaked nine days.", before)
    assert soaked is not None
    assert (soaked.finding.verdict, soaked.sure) == (Verdict.CONTRADICTED, True)


def test_the_order_of_what_is_said_does_not_matter(book: tuple[Evidence, Names]) -> None:
    for parts in permutations(
        ("the Birch at 40 times 4", "60 of 60 copies", "soaked 12 hours", "ten of ten cold starts")
    ):
        found = reading(book, ", ".join(parts))
        assert found is not None
        assert (found.finding.verdict, found.sure) == (Verdict.SUPPORTED, True), parts
    for parts in permutations(("the Birch at 40 times 4", "60 of 60 copies", "soaked 24 hours")):
        found = reading(book, ", ".join(parts))
        assert found is not None
        assert (found.finding.verdict, found.sure) == (Verdict.CONTRADICTED, True), parts


def test_the_order_of_settings_said_before_does_not_matter(book: tuple[Evidence, Names]) -> None:
    for before in permutations(("The Cedar.", "Bus at 75.", "CAS 3.")):
        if before[0] != "The Cedar.":
            continue
        found = reading(book, "It is rock solid.", before)
        assert found is not None
        assert (found.finding.verdict, found.sure) == (Verdict.CONTRADICTED, True)


@pytest.mark.parametrize(
    ("text", "before"),
    [
        ("It hung.", ("The Larch beside the Birch.",)),
        ("It is rock solid.", ("The Cedar beside the Larch at 40 without the read wait.",)),
        ("It is rock solid and came back, no, it fell over.", ("The Larch at 40 without the read wait.",)),
    ],
)
def test_readings_that_disagree_are_never_sure(
    book: tuple[Evidence, Names], text: str, before: tuple[str, ...]
) -> None:
    found = reading(book, text, before)
    assert found is None or not found.sure


@pytest.mark.parametrize(
    "text",
    [
        "The Birch at 40 times 4 soaked twelve hours submerged.",
        "The Birch at 40 times 4 would soak twelve hours.",
        "The Birch at 40 times 4 soaked twelve hours at 17 bananas.",
        "The Elm's clock is fixed upside-down.",
    ],
)
def test_what_is_not_understood_is_never_surely_supported(book: tuple[Evidence, Names], text: str) -> None:
    found = reading(book, text)
    assert found is None or not found.sure or found.finding.verdict is not Verdict.SUPPORTED


@pytest.mark.parametrize(
    "text",
    [
        "The Elm is faster than the Cedar.",
        "It looks clean.",
        "I will start with the Birch.",
        "The Birch holds the record.",
        "Did the Birch hang?",
        "The Larch gains five percent.",
        "Clean that board.",
    ],
)
def test_other_sentences_are_left_to_others(book: tuple[Evidence, Names], text: str) -> None:
    found = reading(book, text)
    assert found is None or not found.sure


def test_braces_in_a_text_are_no_mentions(book: tuple[Evidence, Names]) -> None:
    assert [c.verdict for c in Checker(book[0].ledger).text("} {b0} hung at {s1} {n7}")] == [
        Verdict.NOT_PLACED
    ]
