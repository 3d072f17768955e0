"""The highest bid: the price at which buying is worth exactly as much as leaving it."""

from __future__ import annotations

import msgspec
import numpy as np

from leadoff.record.quantity import Quantity, Source
from leadoff.worth.draws import Vec, chances, draws
from leadoff.worth.landed import LEVEL, Drawn, as_quantity, drawn, total
from leadoff.worth.offer import SAID, Offer
from leadoff.worth.rows import limit
from leadoff.worth.utility import certainty_equivalent

STEPS = 44
"""Halvings of the bracket: far below a hundredth of any currency's unit."""


class Mover(msgspec.Struct, frozen=True, kw_only=True):
    """What one component does to the bid. ``tried``: its own band, or a plain figure tried up and down."""

    component: str
    name: str
    lo: float
    hi: float
    bid_lo: float
    bid_hi: float
    tried: str

    @property
    def swing(self) -> float:
        """How far the bid moves."""
        return abs(self.bid_hi - self.bid_lo)


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """The answer. ``highest_bid`` is never below zero; ``short`` is what is missing even at a price of nothing."""

    landed: Quantity | None
    highest_landed: Quantity
    highest_bid: Quantity
    short: float
    movers: tuple[Mover, ...]


class Stake(msgspec.Struct, frozen=True):
    """What the board brings before the landed cost: draws of both endings with the chance of each."""

    chance: Vec
    fixed: Vec
    given_up: Vec

    def worth(self, cost: Vec, tolerance: float | None) -> float:
        """The certainty equivalent of buying at a landed cost."""
        n = len(self.chance)
        both = np.concatenate([self.chance, 1 - self.chance]) / n
        return certainty_equivalent(
            both, np.concatenate([self.fixed - cost, self.given_up - cost]), tolerance
        )


def stake(offer: Offer) -> Stake:
    """Draw what an offer is worth. The parts are spent either way: what fails was paid for as well."""
    assert offer.working is not None
    assert offer.donor is not None
    assert offer.parts is not None
    assert offer.p_fix is not None
    parts = draws("parts", offer.parts)
    return Stake(
        chances("p_fix", offer.p_fix),
        draws("working", offer.working) - parts,
        draws("donor", offer.donor) - parts,
    )


def card(offer: Offer, *, movers: bool = True) -> Card:
    """Highest landed cost, highest bid, and what moves it. Needs working, donor, parts and p_fix."""
    made, held = drawn(offer), stake(offer)
    nothing = np.zeros_like(held.chance)
    highest = held.worth(nothing, offer.tolerance)
    middle = held.chance * held.fixed + (1 - held.chance) * held.given_up
    spread = as_quantity(middle, offer.currency)
    bid = solve(made, held)
    band = _bid_band(made, middle, bid)
    landed = None
    if offer.asked is not None:
        landed = as_quantity(total(made, draws("asked", offer.asked)), offer.currency)
    return Card(
        landed=landed,
        highest_landed=_quantity(highest, spread.lo, spread.hi, offer.currency),
        highest_bid=_quantity(bid, *band, offer.currency),
        short=max(0.0, -held.worth(total(made, 0.0), offer.tolerance)),
        movers=tuple(sorted(_movers(offer), key=lambda m: -m.swing)) if movers else (),
    )


def highest_bid(offer: Offer) -> float:
    """The number alone."""
    return solve(drawn(offer), stake(offer))


def solve(made: Drawn, held: Stake) -> float:
    """The largest price at which buying is worth no less than nothing; the landed cost grows with the price."""
    tolerance = made.offer.tolerance
    lo, hi = 0.0, max(1.0, float(np.maximum(held.fixed, held.given_up).max()))
    if held.worth(total(made, lo), tolerance) <= 0:
        return 0.0
    for _ in range(STEPS):
        middle = (lo + hi) / 2
        if held.worth(total(made, middle), tolerance) >= 0:
            lo = middle
        else:
            hi = middle
    return lo


def _bid_band(made: Drawn, worth: Vec, bid: float) -> tuple[float, float]:
    """Where the bid would lie if every figure were known: the band of the price that leaves nothing over."""
    slope = (total(made, bid + 1.0) - total(made, bid)) if bid > 0 else np.ones_like(worth)
    at = bid + (worth - total(made, bid)) / np.maximum(slope, 1e-9)
    lo, hi = np.quantile(np.maximum(at, 0.0), [0.5 - LEVEL / 2, 0.5 + LEVEL / 2])
    return float(min(lo, bid)), float(max(hi, bid))


def _quantity(value: float, lo: float | None, hi: float | None, unit: str) -> Quantity:
    low = value if lo is None else min(lo, value)
    high = value if hi is None else max(hi, value)
    return Quantity(value=value, unit=unit, source=Source.COMPUTED, lo=low, hi=high, level=LEVEL)


def _movers(offer: Offer) -> list[Mover]:
    out = []
    share = limit("tried_pct") / 100
    for name, q in offer.inputs().items():
        assert q.value is not None
        banded = q.lo is not None and q.hi is not None and q.hi > q.lo
        lo = q.lo if banded else q.value * (1 - share)
        hi = q.hi if banded else q.value * (1 + share)
        assert lo is not None
        assert hi is not None
        hi = min(hi, 1.0) if name == "p_fix" else hi
        if hi <= lo:
            continue
        low, high = (
            highest_bid(offer.with_input(name, msgspec.structs.replace(q, value=v, lo=None, hi=None)))
            for v in (lo, hi)
        )
        tried = "its band" if banded else f"{limit('tried_pct'):g} % up and down"
        out.append(Mover(component=name, name=SAID[name], lo=lo, hi=hi, bid_lo=low, bid_hi=high, tried=tried))
    return out
