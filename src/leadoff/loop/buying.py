"""The verb ``worth``: landed cost and highest bid of one offer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import msgspec

from leadoff.loop.offering import Given, offer_of
from leadoff.loop.session import Session
from leadoff.record.marks import Level, Mark
from leadoff.record.quantity import Quantity, unknown
from leadoff.record.results import Result, mark, note
from leadoff.worth.customs import NOTE

if TYPE_CHECKING:
    from leadoff.worth.bid import Card
    from leadoff.worth.offer import Offer


def worth(session: Session, board: str | None, said: Mapping[str, str | None]) -> Result:
    """What an offer will have cost on the bench, the most to bid for it, and what moves that most.

    ``said``: what the person stated, by option. Nothing is kept.

    Raises:
        LeadoffError: amounts that are none, currencies without a rate, a country without a customs rule.
    """
    given = offer_of(session, board, said)
    offer = given.offer
    data: dict[str, Any] = {
        "currency": offer.currency,
        "landed": unknown(offer.currency, "no price asked was stated"),
        "highest_landed": _no_bid(given),
        "highest_bid": _no_bid(given),
        "moved_most_by": None,
        "movers": [],
        "components": _components(offer),
        "left_out": list(given.left_out),
        "p_fix": given.chance,
        "p_fix_from": given.odds_from,
        "risk_tolerance": offer.tolerance,
        "customs": _customs(offer),
        "parcel": given.parcel.view,
    }
    marks = list(given.marks)
    if given.can_bid:
        from leadoff.worth.bid import card

        found = card(offer)
        data |= _carded(found)
        marks += _verdict(offer, found)
    elif offer.asked is not None:
        from leadoff.worth.draws import draws
        from leadoff.worth.landed import as_quantity, drawn, total

        data["landed"] = as_quantity(total(drawn(offer), draws("asked", offer.asked)), offer.currency)
    if offer.border is not None:
        marks.append(
            note("no_tax_advice", f"{NOTE}; row of {offer.border.rule.since}: {offer.border.rule.source}")
        )
    return session.result("worth", data, marks)


def _no_bid(given: Given) -> Quantity:
    return unknown(given.offer.currency, "the value of the board when it works was not stated (--working)")


def _carded(found: Card) -> dict[str, Any]:
    out: dict[str, Any] = {
        "highest_landed": found.highest_landed,
        "highest_bid": found.highest_bid,
        "short": found.short,
        "moved_most_by": found.movers[0].component if found.movers else None,
        "movers": [{**msgspec.structs.asdict(m), "swing": m.swing} for m in found.movers],
    }
    if found.landed is not None:
        out["landed"] = found.landed
    return out


def _components(offer: Offer) -> list[dict[str, Any]]:
    """Every part of the landed cost at the price asked, as a band where it is one."""
    from leadoff.worth.draws import draws
    from leadoff.worth.landed import as_quantity, components, drawn
    from leadoff.worth.offer import SAID

    if offer.asked is None:
        return [{"component": n, "name": SAID[n], "amount": q} for n, q in offer.costs.items()]
    parts = components(drawn(offer), draws("asked", offer.asked))
    stated = {"asked": offer.asked, **offer.costs}
    return [
        {
            "component": name,
            "name": SAID[name],
            "amount": stated.get(name) or as_quantity(values, offer.currency),
        }
        for name, values in parts.items()
    ]


def _customs(offer: Offer) -> dict[str, Any] | None:
    if offer.border is None:
        return None
    rule = offer.border.rule
    return {
        "zone": rule.zone,
        "since": rule.since,
        "tax": rule.tax,
        "tax_pct": rule.tax_pct,
        "duty_pct": offer.border.duty_pct,
        "duty_on": list(rule.duty_on),
        "tax_on": list(rule.tax_on),
        "source": rule.source,
        "page": rule.page,
        "certainty": rule.certainty,
    }


def _verdict(offer: Offer, found: Card) -> list[Mark]:
    bid = found.highest_bid.value or 0.0
    unit = "" if offer.currency == "currency" else f" {offer.currency}"
    if found.short > 0:
        text = f"not even as a gift: at a price of nothing it would still be {found.short:.2f}{unit} too dear"
        return [mark(Level.AMBER, "not_even_free", text)]
    if offer.asked is None or offer.asked.value is None:
        return []
    asked = offer.asked.value
    if asked > bid:
        return [
            mark(
                Level.AMBER,
                "too_dear",
                f"asked {asked:.2f}{unit} is {asked - bid:.2f} above the highest bid",
            )
        ]
    return [
        mark(Level.GREEN, "worth_it", f"asked {asked:.2f}{unit} is {bid - asked:.2f} below the highest bid")
    ]
