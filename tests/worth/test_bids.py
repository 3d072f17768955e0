"""Highest bids: monotone in odds and values, and right where the answer is known by hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leadoff.record.quantity import Quantity, Source
from leadoff.worth.bid import card, highest_bid
from leadoff.worth.customs import rule_for
from leadoff.worth.offer import Border, Offer


def said(value: float, share: float = 0.0, unit: str = "EUR") -> Quantity:
    """A stated figure, with a band of that share of it up and down."""
    lo, hi = (value * (1 - share), value * (1 + share)) if share else (None, None)
    return Quantity(value=value, unit=unit, source=Source.DECLARED, lo=lo, hi=hi)


def offer(
    *,
    p: float = 0.55,
    working: float = 45.0,
    donor: float = 6.0,
    parts: float = 5.0,
    postage: float = 11.0,
    risk: float | None = None,
    band: float = 0.0,
    abroad: bool = False,
) -> Offer:
    border = Border(rule=rule_for("DE", "2025-01-01"), duty_pct=said(0.0, unit="%")) if abroad else None
    return Offer(
        currency="EUR",
        asked=said(14.0),
        costs={"postage": said(postage, band)},
        border=border,
        working=said(working, band),
        donor=said(donor, band),
        parts=said(parts, band),
        p_fix=said(p, unit="probability"),
        tolerance=risk,
    )


amounts = st.floats(1.0, 200.0)
odds = st.floats(0.02, 0.98)
risks = st.one_of(st.none(), st.floats(5.0, 500.0))


@settings(deadline=None, max_examples=25)
@given(
    p=odds,
    more=st.floats(0.0, 0.5),
    working=amounts,
    share=st.floats(0.0, 1.0),
    risk=risks,
    abroad=st.booleans(),
)
def test_better_odds_never_lower_the_bid(
    p: float, more: float, working: float, share: float, risk: float | None, abroad: bool
) -> None:
    """As long as working is worth no less than the donor."""
    better = min(0.99, p + more)
    low = highest_bid(offer(p=p, working=working, donor=share * working, risk=risk, band=0.2, abroad=abroad))
    high = highest_bid(
        offer(p=better, working=working, donor=share * working, risk=risk, band=0.2, abroad=abroad)
    )
    assert high >= low - 1e-6


@settings(deadline=None, max_examples=25)
@given(
    values=st.tuples(amounts, amounts, amounts), more=st.floats(0.0, 80.0), risk=risks, abroad=st.booleans()
)
def test_values_raise_the_bid_and_costs_lower_it(
    values: tuple[float, float, float], more: float, risk: float | None, abroad: bool
) -> None:
    working, donor, postage = values
    base = dict(working=working, donor=donor, postage=postage, risk=risk, band=0.3, abroad=abroad)
    bid = highest_bid(offer(**base))  # type: ignore[arg-type]
    assert highest_bid(offer(**{**base, "working": working + more})) >= bid - 1e-6  # type: ignore[arg-type]
    assert highest_bid(offer(**{**base, "donor": donor + more})) >= bid - 1e-6  # type: ignore[arg-type]
    assert highest_bid(offer(**{**base, "postage": postage + more})) <= bid + 1e-6  # type: ignore[arg-type]
    assert highest_bid(offer(**base, parts=5.0 + more)) <= bid + 1e-6  # type: ignore[arg-type]


@settings(deadline=None, max_examples=15)
@given(p=odds, risk=st.floats(5.0, 300.0))
def test_caution_never_raises_the_bid(p: float, risk: float) -> None:
    assert highest_bid(offer(p=p, risk=risk)) <= highest_bid(offer(p=p)) + 1e-6
    assert highest_bid(offer(p=p, risk=risk)) <= highest_bid(offer(p=p, risk=2 * risk)) + 1e-6


def test_by_hand_with_import_tax() -> None:
    """22.45 may be spent; (price + 11) x 1.19 = 22.45 leaves 7.8655 for the price."""
    assert highest_bid(offer(abroad=True)) == pytest.approx(22.45 / 1.19 - 11, abs=1e-3)


def test_by_hand_with_a_spread() -> None:
    """A spread of 5 % on the price alone: price x 1.05 + 11 = 22.45."""
    import msgspec

    made = msgspec.structs.replace(offer(), foreign=frozenset({"asked"}), spread=said(5.0, unit="%"))
    assert highest_bid(made) == pytest.approx(11.45 / 1.05, abs=1e-3)


def test_nothing_to_gain_is_a_bid_of_nothing_and_says_what_is_missing() -> None:
    found = card(offer(p=0.02, working=10.0, donor=1.0))
    assert found.highest_bid.value == 0.0
    assert found.short == pytest.approx(11 + 5 - (0.02 * 10 + 0.98), abs=1e-6)


def test_an_uncertain_postage_is_what_moves_the_bid() -> None:
    import msgspec

    wide = Quantity(value=20.0, unit="EUR", source=Source.ASSUMED, lo=5.0, hi=60.0)
    made = msgspec.structs.replace(offer(p=0.9, working=100.0), costs={"postage": wide})
    assert card(made).movers[0].component == "postage"
