"""Sentences drilled by kind about differences and their causes: shares that must not be lost."""

from __future__ import annotations

from pathlib import Path

from blind_sentences import half, score

from leadoff.claims.values import Ledger

FILE = str(Path(__file__).parent / "drilled_effects.toml")
SHARE = 0.9


def test_drilled_sentences_keep_their_share_and_nothing_false_is_supported(ledger: Ledger) -> None:
    found = score(ledger, FILE)
    assert sum(found.values()) == len(half(FILE)) >= 270
    assert {true for true, given in found if given == "supported"} == {"supported"}
    assert sum(n for (true, given), n in found.items() if true == given) >= SHARE * sum(found.values())
