"""What a belief costs: repairs in the best order, and the loss when none of them helps. All in minutes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from leadoff.faults.kinds import Knowledge
from leadoff.faults.network import Array


@dataclass(frozen=True, eq=False)
class Prices:
    """``minutes`` [n] of each repair, parts included; ``success`` [n]; ``loss_minutes``: the board given up."""

    minutes: Array
    success: Array
    loss_minutes: float
    minutes_per_unit: float


def prices(
    kb: Knowledge, names: tuple[str, ...], *, loss_minutes: float, minutes_per_unit: float, skill: int
) -> Prices:
    """Prices of the repairs of ``names``. What cannot be repaired (a pseudo-fault) or is above ``skill`` is
    not tried: its price is the loss itself."""
    minutes, success = np.full(len(names), 1e9), np.zeros(len(names))
    for i, name in enumerate(names):
        fault = kb.faults.get(name)
        if fault is not None and fault.repair.skill <= skill:
            minutes[i] = max(fault.repair.minutes + minutes_per_unit * fault.repair.parts_cost, 0.5)
            success[i] = fault.repair.success
    return Prices(minutes, success, loss_minutes, minutes_per_unit)


def belief_cost(chance: Array, price: Prices, *, exclusive: bool) -> Array:
    """Expected minutes of the best order of repairs, without another test, until a cause is cured.

    ``chance`` [R, n]: chance that fault i is a cause of the symptom; ``exclusive`` when at most one can be,
    else they are taken as independent given what is known. In both cases the order of falling chance over
    cost is the best one; the hunt stops where the next repair costs more than the loss it may save.
    """
    gain = np.clip(chance, 0.0, 1.0) * price.success
    order = np.argsort(-gain / price.minutes, axis=-1, kind="stable")
    won = np.take_along_axis(gain, order, axis=-1)
    minutes = price.minutes[order]
    left = np.maximum(1.0 - np.cumsum(won, axis=-1), 0.0) if exclusive else np.cumprod(1.0 - won, axis=-1)
    before = np.concatenate([np.ones_like(left[..., :1]), left[..., :-1]], axis=-1)
    spent = np.cumsum(minutes * before, axis=-1)
    stop = spent + price.loss_minutes * left
    return np.asarray(np.minimum(stop.min(axis=-1), price.loss_minutes))


SURE = 0.8
"""A cause this sure is repaired first: while it is there, no other repair can be seen to work. Judgement."""


def first_repair(chance: Array, price: Prices, *, exclusive: bool) -> int | None:
    """The repair to begin with, ``None`` when giving up costs least. ``chance`` is [n].

    The best order by chance over cost starts it, unless a cause is nearly sure to be there.
    """
    able = np.clip(chance, 0.0, 1.0) * (price.success > 0)
    if belief_cost(chance[None], price, exclusive=exclusive)[0] >= price.loss_minutes:
        return None
    if able.max() >= SURE:
        return int(np.argmax(able))
    return int(np.argmax(able * price.success / price.minutes))
