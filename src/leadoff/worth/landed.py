"""The landed cost: what a board has cost when it lies on the bench."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec
import numpy as np

from leadoff.record.quantity import Quantity, Source
from leadoff.worth.customs import charge
from leadoff.worth.draws import Vec, draws
from leadoff.worth.offer import COSTS, Offer
from leadoff.worth.rows import limit

LEVEL = 0.9


class Drawn(msgspec.Struct, frozen=True):
    """The draws of everything of an offer but its price; made once, asked for many prices."""

    offer: Offer
    costs: Mapping[str, Vec]
    spread: Vec
    duty_pct: Vec


def drawn(offer: Offer) -> Drawn:
    """Draw an offer's parts."""
    none = np.zeros(int(limit("draws")))
    border = offer.border
    return Drawn(
        offer,
        {name: draws(name, q) for name, q in offer.costs.items()},
        none if offer.spread is None else draws("spread", offer.spread) / 100,
        none if border is None else draws("duty_pct", border.duty_pct),
    )


def components(made: Drawn, price: Vec | float) -> dict[str, Vec]:
    """Every component of the landed cost at a price, one draw each."""
    offer, zero = made.offer, np.zeros_like(made.spread)
    out: dict[str, Vec] = {"asked": price + zero}
    out |= {name: made.costs[name] for name in COSTS if name in made.costs}
    if offer.border is not None:
        parts = {"price": out["asked"]} | {n: v for n, v in out.items() if n not in ("asked", "brokerage")}
        due = charge(offer.border.rule, parts, made.duty_pct, rate=offer.border.rate)
        out["duty"], out["tax"] = due.duty + zero, due.tax + zero
    out |= {name: made.costs[name] for name in ("duty", "tax") if name in made.costs}
    if offer.foreign:
        out["spread"] = sum((out[n] for n in sorted(offer.foreign) if n in out), zero) * made.spread
    return out


def total(made: Drawn, price: Vec | float) -> Vec:
    """The landed cost at a price."""
    return np.asarray(np.sum(list(components(made, price).values()), axis=0))


def as_quantity(values: Vec, unit: str, *, source: Source = Source.COMPUTED, why: str = "") -> Quantity:
    """Draws as a quantity: the mean, and nine cases in ten."""
    lo, hi = (float(v) for v in np.quantile(values, [0.5 - LEVEL / 2, 0.5 + LEVEL / 2]))
    mean = float(values.mean())
    if hi - lo <= 1e-9 * max(1.0, abs(mean)):
        lo = hi = mean
    return Quantity(value=mean, unit=unit, source=source, lo=lo, hi=hi, level=LEVEL, why=why)
