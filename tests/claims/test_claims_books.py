"""A short form of validation/claims_books.py: card effects are recovered, and unknown without their bridges."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "validation"))

from claims_books import RIGS, W1, Tally, judge, ledger, world
from claims_slips import Slips, record

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


def test_records_that_vanish_with_the_rig_are_asked_about_and_those_that_stand_are_not() -> None:
    """Eight books of other seeds than those the threshold was set on; many more in docs/validation.md."""
    found = Slips()
    for seed in range(60_000, 60_008):
        record(world(seed), found)
    assert found.vanishing >= 4
    assert found.firm >= 4
    assert found.vanishing_found >= found.vanishing - 1
    assert found.vanishing_false <= 1


def test_without_its_bridges_an_effect_is_unknown() -> None:
    book = ledger(world(5))
    trials = book.of("w1")
    house = field_of(book, W1).house
    bridges = rigs_of(trials, house, W1)
    assert bridges.effect(RIGS[0], RIGS[1]) is not None
    cards: dict[tuple[str, object], set[str]] = {}
    for t in trials:
        cards.setdefault((t.board, t.key), set()).add(t.rig)

    def alone(t: Trial) -> bool:
        return len(cards[t.board, t.key]) == 1

    rest = [t for t in trials if alone(t)]
    assert {t.rig for t in rest} == set(RIGS)
    assert rigs_of(rest, house, W1).effect(RIGS[0], RIGS[1]) is None
