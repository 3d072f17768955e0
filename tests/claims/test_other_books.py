"""The claim check on books it was not made on: four other invented books, and the demo's."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from blind_sentences import half, score

from leadoff.claims.spoken.check import Checker
from leadoff.claims.spoken.values import Verdict
from leadoff.claims.values import Ledger

HERE = Path(__file__).parent


@pytest.mark.parametrize(
    ("book", "share"), [("second", 0.85), ("third", 0.75), ("tour", 0.65), ("fifth", 0.65), ("sixth", 0.72)]
)
def test_what_is_said_of_another_book(other_book: Callable[[str], Ledger], book: str, share: float) -> None:
    ledger = other_book(book)
    file = str(HERE / f"{book}_book_sentences.toml")
    found = score(ledger, file)
    assert sum(found.values()) == len(half(file)) >= 57
    assert {true for true, given in found if given == "supported"} == {"supported"}
    assert sum(n for (true, given), n in found.items() if true == given) >= share * sum(found.values())


def test_a_soak_that_is_not_the_only_one_is_not_called_so(ledger: Ledger) -> None:
    checker = Checker(ledger)
    checker.text("Birch, long runs.")
    (found,) = checker.text("Its only soak so far is the eight hours at times 3.")
    assert found.verdict is not Verdict.SUPPORTED, found.why
