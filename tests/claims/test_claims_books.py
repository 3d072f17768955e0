"""A short form of validation/claims_books.py: card effects are recovered, and unknown without their bridges."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "validation"))

from claims_books import RIGS, W1, Tally, judge, ledger, world

from leadoff.claims.rigs import rigs_of
from leadoff.claims.standings import field_of
from leadoff.claims.values import Trial


def test_card_effects_and_records_of_three_books() -> None:
    tally = Tally()
    for seed in range(3):
        judge(world(seed), tally)
    assert tally.effects == 6
    assert tally.unknown == 0
    assert tally.inside >= 4
    assert tally.chances > 900
    assert tally.false_records <= 0.01 * tally.chances


def test_without_its_bridges_an_effect_is_unknown() -> None:
    book = ledger(world(5))
    trials = book.of("w1")
    house = field_of(book, W1).house
    bridges = rigs_of(trials, house)
    assert bridges.effect(RIGS[0], RIGS[1]) is not None
    cards: dict[tuple[str, object], set[str]] = {}
    for t in trials:
        cards.setdefault((t.board, t.key), set()).add(t.rig)

    def alone(t: Trial) -> bool:
        return len(cards[t.board, t.key]) == 1

    rest = [t for t in trials if alone(t)]
    assert {t.rig for t in rest} == set(RIGS)
    assert rigs_of(rest, house).effect(RIGS[0], RIGS[1]) is None
