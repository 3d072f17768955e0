"""What a speaker takes back while speaking is not claimed: own sentences, common speech, no source."""

from __future__ import annotations

import pytest

from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.plain import sentences
from leadoff.claims.spoken.taken_back import kept
from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session


@pytest.mark.parametrize(
    ("text", "claim", "before"),
    [
        ("Eleven... no, twelve frames in the corridor.", "twelve frames in the corridor.", "Eleven"),
        ("It did 22, make that 23, in the corridor.", "It did 23, in the corridor.", ""),
        ("The Alder, I mean the Birch, did 24.9 there.", "the Birch, did 24.9 there.", "The Alder"),
        ("The sort took nineteen seconds, no, twenty.", "The sort took twenty seconds.", ""),
        ("It was faster; I used to say slower.", "It was faster.", ""),
        ("I'd have guessed ten per cent, but it is six.", "it is six.", ""),
        ("Ten per cent, I used to tell people, but no, it's nearer six.", "six per cent.", ""),
        ("The soak failed, no, sorry, it passed.", "it passed.", "The soak failed"),
        ("I was hoping for a second or two, and got nothing.", "got nothing.", ""),
        ("I once wrote ten and had letters about it.", "", ""),
        ("Three boards... no, four.", "four boards.", ""),
        # nothing is taken back
        ("No, it never hung, no, not once.", "No, it never hung, no, not once.", ""),
        ("No doubt, the Alder is the faster.", "No doubt, the Alder is the faster.", ""),
        ("It used to lose ten minutes a night.", "It used to lose ten minutes a night.", ""),
        ("I'd say ten per cent.", "I'd say ten per cent.", ""),
        ("Did it hang? No, it did not.", "Did it hang? No, it did not.", ""),
    ],
)
def test_what_is_left_of_a_sentence(text: str, claim: str, before: str) -> None:
    left = kept(text)
    assert (left.claim, left.before) == (claim, before)


def test_three_dots_end_no_sentence_that_goes_on() -> None:
    assert sentences("Twelve... no, eleven. It hung... The rest is known.") == (
        "Twelve... no, eleven.",
        "It hung...",
        "The rest is known.",
    )


@pytest.mark.parametrize(
    ("context", "text", "verdict"),
    [
        (
            "The Larch at 40 with no read wait.",
            "Nine in the corridor... no, wait, nine point six.",
            "supported",
        ),
        ("The Larch at 40 with no read wait.", "9.6 in the corridor... no, wait, nine.", "contradicted"),
        ("The read wait came out on the Larch at 40.", "Ten percent in the corridor, no, six.", "supported"),
        (
            "The read wait came out on the Larch at 40.",
            "Six percent in the corridor, no, ten.",
            "contradicted",
        ),
    ],
)
def test_what_stands_in_its_place_is_judged(blind: Session, context: str, text: str, verdict: str) -> None:
    checker = Checker(ledger_of(read_history(blind), blind.book.is_before))
    checker.text(context)
    assert checker.text(text)[-1].verdict == verdict
