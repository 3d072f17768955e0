"""One offer: what is asked, what comes on top, what the board would be worth. Amounts in the buyer's currency."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.record.quantity import Quantity
from leadoff.worth.customs import Rule

COSTS = ("postage_home", "postage", "packing", "insurance", "brokerage", "hours", "surcharge")
"""What stands beside the price, duty and tax. ``postage_home``: inside the seller's country, before the border."""

SAID = {
    "asked": "price",
    "postage_home": "postage in the seller's country",
    "postage": "postage",
    "packing": "packing or storage",
    "insurance": "insurance",
    "duty": "duty",
    "tax": "import tax",
    "brokerage": "carrier's fee for customs",
    "spread": "currency spread",
    "hours": "own hours",
    "surcharge": "surcharges of such parcels",
    "working": "value working",
    "donor": "value as donor",
    "p_fix": "chance to fix",
    "parts": "parts for the repair",
    "duty_pct": "rate of duty",
}
"""Names of components as people say them."""


class Border(msgspec.Struct, frozen=True, kw_only=True):
    """A customs border between seller and buyer. ``rate``: buyer's currency for one unit of the rule's."""

    rule: Rule
    duty_pct: Quantity
    rate: float = 1.0


class Offer(msgspec.Struct, frozen=True, kw_only=True):
    """Every quantity has a value: what nobody stated is an assumed band, never zero.

    ``costs``: components of COSTS, and ``duty`` and ``tax`` where the person states them. ``foreign``: names
    paid in another currency, on which the spread (percent) is kept. A ``None`` among the values means that
    nobody said what the board is worth: then there is a landed cost and no bid.
    """

    currency: str
    asked: Quantity | None
    costs: Mapping[str, Quantity]
    border: Border | None = None
    foreign: frozenset[str] = frozenset()
    spread: Quantity | None = None
    working: Quantity | None = None
    donor: Quantity | None = None
    parts: Quantity | None = None
    p_fix: Quantity | None = None
    tolerance: float | None = None

    def inputs(self) -> dict[str, Quantity]:
        """Everything that can move the bid, by name."""
        found: dict[str, Quantity | None] = {
            **self.costs,
            "spread": self.spread,
            "duty_pct": self.border.duty_pct if self.border else None,
            "working": self.working,
            "donor": self.donor,
            "parts": self.parts,
            "p_fix": self.p_fix,
        }
        return {name: q for name, q in found.items() if q is not None}

    def with_input(self, name: str, q: Quantity) -> Offer:
        """The same offer with one input replaced."""
        if name in self.costs:
            return msgspec.structs.replace(self, costs={**self.costs, name: q})
        if name == "duty_pct":
            assert self.border is not None
            return msgspec.structs.replace(self, border=msgspec.structs.replace(self.border, duty_pct=q))
        return msgspec.structs.replace(self, **{name: q})
