"""Sentences of which a part is right and the claim is not: each kind was once called supported (invented book)."""

from __future__ import annotations

import pytest
from blind_sentences import verdict_of

from leadoff.claims.values import Ledger

KINDS = (
    # the setting that moved is the one named last
    (
        "A small gain, that.",
        "The Larch at 40, read wait kept at one, and the write wait goes to zero, corridor.",
    ),
    # right figures, and no lead
    ("The scroll goes to the Slot 1, 413 lines to the Cedar's 412.", ""),
    (
        "The faster bus takes it, 65.9 over 65.8.",
        "The Cedar in the corridor at CAS 3: 66 times 3.5, or 75 times 3.",
    ),
    # a clear lead is none by a hair
    ("The Birch is quicker than the Larch at sorting by a hair.", ""),
    # right figures in the wrong order
    ("It got slower at sorting, 24.2 before and 27.1 after.", "The Birch from times 3 to times 4 at 40."),
    # having run it is not having come through
    ("All five of the boards came through the ray trace.", ""),
    # a first run that was earlier
    ("The Cedar did not have its first run before October 2019.", ""),
    # a start that never came off
    ("It started at 124 and only gave out later.", "The Slot 1."),
    # a soak says nothing of who shares a record
    ("It belongs to the Birch alone, soaked and clean.", "The memory copy record of the two 486s."),
    # sure readings that disagree
    ("The older of the two gets through more lines.", "The scroll on the 386 and on the PCI 486."),
)


@pytest.mark.parametrize(("text", "before"), KINDS)
def test_what_is_half_right_is_not_supported(ledger: Ledger, text: str, before: str) -> None:
    assert verdict_of(ledger, {"text": text, "context": [before] if before else []}) != "supported"


def test_the_like_of_them_that_holds_is_supported(ledger: Ledger) -> None:
    held = (
        (
            "It got quicker at sorting, 27.1 before and 24.2 after.",
            "The Birch from times 3 to times 4 at 40.",
        ),
        ("All five boards finished the corridor at least once.", ""),
        ("The younger of the two gets through more lines.", "The scroll on the 386 and on the PCI 486."),
    )
    assert [verdict_of(ledger, {"text": t, "context": [b] if b else []}) for t, b in held] == [
        "supported"
    ] * 3
