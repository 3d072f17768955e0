"""Do the bands of lead times hold? Invented sellers whose parcels are as the prior has them, and others that are not.

python validation/parcels.py [SELLERS]        goal: nine in ten, within 85 to 95 % where the prior is right
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable
from datetime import date, timedelta

from leadoff.worth.parcels import Parcel, outlook, row

DAY, TODAY, PROMISED = date(2026, 1, 5), date(2027, 1, 1), 10.0
Draw = Callable[[random.Random, float], float]


def as_prior(rng: random.Random, own: float) -> float:
    return PROMISED * row("late") * math.exp(own + rng.gauss(0, row("lead_sd")))


def customs(rng: random.Random, own: float) -> float:
    """One in seven lies at a customs office for weeks."""
    return as_prior(rng, own) + (rng.uniform(10, 40) if rng.random() < 1 / 7 else 0.0)


def weekdays(rng: random.Random, own: float) -> float:
    """Comes on working days only."""
    days = round(as_prior(rng, own))
    return days + {5: 2, 6: 1}.get((DAY + timedelta(days=days)).weekday(), 0)


def punctual(rng: random.Random, own: float) -> float:
    """A seller who keeps every promise to the day."""
    return PROMISED + rng.choice([-1, 0, 0, 1])


def cover(draw: Draw, known: int, sellers: int) -> tuple[float, float]:
    """Share of the next parcels inside the 90 % band, and the mean ratio of its ends."""
    rng, inside, wide = random.Random(17), 0, 0.0
    for _ in range(sellers):
        own = rng.gauss(0, row("lead_sd") / math.sqrt(row("lead_parcels")))
        days = [max(1, round(draw(rng, own))) for _ in range(known + 1)]
        past = [
            Parcel(
                number=f"p{n}",
                ordered=DAY,
                seller="s",
                promised_days=PROMISED,
                came=DAY + timedelta(days=d),
                damaged=False,
            )
            for n, d in enumerate(days[:-1])
        ]
        lead = outlook(past, TODAY, seller="s", promised_days=PROMISED).lead_days
        assert lead.lo is not None
        assert lead.hi is not None
        inside += lead.lo <= days[-1] <= lead.hi
        wide += lead.hi / lead.lo
    return inside / sellers, wide / sellers


def main() -> int:
    sellers = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    worlds: dict[str, Draw] = {
        "as the prior": as_prior,
        "working days": weekdays,
        "customs": customs,
        "punctual": punctual,
    }
    right = True
    for name, draw in worlds.items():
        for known in (0, 1, 3, 10):
            share, wide = cover(draw, known, sellers)
            print(f"{name}, {known} parcels known: {100 * share:.1f} % inside, ends {wide:.1f} apart")
            right &= name != "as the prior" or 0.85 <= share <= 0.95
    return 0 if right else 1


if __name__ == "__main__":
    raise SystemExit(main())
