"""Sentences that are open to the authors of the check: drilled by kind, or by writers read since. What was reached is
kept, and nothing false is called supported."""

from __future__ import annotations

from pathlib import Path

import pytest
from blind_sentences import half, verdict_of

from leadoff.claims.spoken.check import Checker
from leadoff.claims.values import Ledger

HERE = Path(__file__).parent


@pytest.mark.parametrize(
    ("file", "least", "share"),
    [
        ("drilled_scores.toml", 1120, 0.9),
        ("drilled_trials.toml", 1285, 0.88),
        ("drilled_effects.toml", 407, 0.9),
        ("strangers.toml", 1152, 0.85),
        ("writers.toml", 832, 0.9),
        ("fourth.toml", 209, 0.98),
    ],
)
def test_what_was_reached_is_kept(ledger: Ledger, file: str, least: int, share: float) -> None:
    sentences = half(str(HERE / file))
    checker = Checker(ledger)
    given = [(s["id"], s["verdict"], verdict_of(ledger, s, checker)) for s in sentences]
    assert len(given) >= least
    false = {name for name, true, got in given if got == "supported" != true}
    assert not false
    assert sum(true == got for _, true, got in given) >= share * len(given)
