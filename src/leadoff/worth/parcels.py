"""Parcels: how long they take, how often they come damaged or dearer, learnt from one's own, shrunk to a prior.

Days are log-normal about what was promised (about a usual time where nothing was); middle and spread have a
normal-gamma prior that counts as a few parcels. Damage and surcharges are Beta. A parcel that shares only the seller
or only the carrier counts half. One that has not come counts as having taken its age once that is beyond the middle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from functools import lru_cache
from statistics import NormalDist

import msgspec

from leadoff.record.counted import counted
from leadoff.record.quantity import Quantity, Source
from leadoff.worth.rows import table

LEVEL = 0.9
_Z = NormalDist().inv_cdf(0.5 + LEVEL / 2)


class Parcel(msgspec.Struct, frozen=True, kw_only=True):
    """One order. ``seller`` and ``carrier`` are keys of parties, empty when not said; ``came``: the day it lay here.

    ``damaged`` is ``None`` until somebody looked; ``surcharge`` is in the book's own currency.
    """

    number: str
    ordered: date
    holds: str = ""
    board: str = ""
    seller: str = ""
    carrier: str = ""
    abroad: bool | None = None
    promised_days: float | None = None
    came: date | None = None
    damaged: bool | None = None
    surcharge: float | None = None
    price: Quantity | None = None

    @property
    def days(self) -> int | None:
        """Days from order to bench."""
        return None if self.came is None else max(0, (self.came - self.ordered).days)


class Outlook(msgspec.Struct, frozen=True, kw_only=True):
    """What the next parcel of a seller and a carrier will do. ``parcels``: how many of one's own it rests on."""

    lead_days: Quantity
    p_damaged: Quantity
    p_surcharged: Quantity
    surcharge: float
    parcels: float
    rests_on: str


def row(name: str) -> float:
    """The value of one row of ``parcels.toml``."""
    return float(table("parcels")[name]["value"])


def outlook(
    parcels: Sequence[Parcel],
    today: date,
    *,
    seller: str = "",
    carrier: str = "",
    promised_days: float | None = None,
    abroad: bool = False,
) -> Outlook:
    """Lead time with its band, chances of damage and surcharge."""
    told = [(w, p) for p in parcels if (w := _weight(p, seller, carrier))]
    middle, sd = _days(told, today)
    base = _expected(promised_days, abroad)
    lead = Quantity(
        value=base * math.exp(middle),
        unit="days",
        source=Source.COMPUTED,
        lo=base * math.exp(middle - _Z * sd),
        hi=base * math.exp(middle + _Z * sd),
        level=LEVEL,
    )
    looked = [(w, p) for w, p in told if p.damaged is not None]
    came = [(w, p) for w, p in told if p.came is not None]
    hurt = _chance("damaged", sum(w for w, p in looked if p.damaged), sum(w for w, _ in looked))
    dearer = _chance("surcharged", sum(w for w, p in came if p.surcharge), sum(w for w, _ in came))
    asked = [(w, p.surcharge) for w, p in came if p.surcharge]
    sums = row("surcharge") + sum(w * v for w, v in asked)
    own = sum(w for w, _ in told)
    return Outlook(
        lead_days=lead,
        p_damaged=hurt,
        p_surcharged=dearer,
        surcharge=sums / (1.0 + sum(w for w, _ in asked)),
        parcels=own,
        rests_on=f"{counted(len(told), 'parcel')} of yours and a prior of judgement"
        if told
        else "a prior of judgement alone",
    )


def arrival(parcel: Parcel, parcels: Sequence[Parcel], today: date) -> tuple[date, date, date]:
    """Nine in ten and the middle of the day a parcel comes that has not come by today: earliest, middle, latest."""
    others = [p for p in parcels if p.number != parcel.number]
    told = [(w, p) for p in others if (w := _weight(p, parcel.seller, parcel.carrier))]
    middle, sd = _days(told, today)
    curve = NormalDist(math.log(_expected(parcel.promised_days, bool(parcel.abroad))) + middle, sd)
    age = max(0.5, (today - parcel.ordered).days)
    gone = curve.cdf(math.log(age))
    ends = []
    for p in ((1 - LEVEL) / 2, 0.5, (1 + LEVEL) / 2):
        days = math.exp(curve.inv_cdf(min(gone + p * (1 - gone), 1 - 1e-9))) if gone < 1 - 1e-9 else age + 1.0
        ends.append(max(today, parcel.ordered + timedelta(days=round(days))))
    return ends[0], ends[1], ends[2]


def _expected(promised: float | None, abroad: bool) -> float:
    if promised:
        return promised * row("late")
    return row("lead_abroad" if abroad else "lead_home")


def _weight(p: Parcel, seller: str, carrier: str) -> float:
    """1 for the same seller and carrier (as far as named), a half for one of the two, 0 for neither."""
    same = [bool(name) and name == of for name, of in ((seller, p.seller), (carrier, p.carrier)) if name]
    if not same or not any(same):
        return 0.0
    return 1.0 if all(same) else row("half")


def _days(told: Sequence[tuple[float, Parcel]], today: date) -> tuple[float, float]:
    """Middle and predictive deviation of log real over expected days."""
    seen: list[tuple[float, float]] = []
    for w, p in told:
        base = _expected(p.promised_days, bool(p.abroad))
        if p.days is not None:
            seen.append((w, math.log(max(0.5, p.days) / base)))
        elif (today - p.ordered).days > base:
            seen.append((w, math.log((today - p.ordered).days / base)))
    k0, n0, sd0 = row("lead_parcels"), row("spread_parcels"), row("lead_sd")
    n = sum(w for w, _ in seen)
    mean = sum(w * x for w, x in seen) / n if n else 0.0
    middle = n * mean / (k0 + n)
    squares = n0 * sd0**2 + sum(w * (x - mean) ** 2 for w, x in seen) + k0 * n / (k0 + n) * mean**2
    return middle, math.sqrt(squares / (n0 + n) * (1.0 + 1.0 / (k0 + n)))


def _chance(name: str, hits: float, of: float) -> Quantity:
    """Beta posterior: its mean, and nine in ten by draws of a fixed stream."""
    weight = row(f"{name}_parcels")
    a, b = row(name) * weight + hits, (1.0 - row(name)) * weight + of - hits
    lo, hi = _ends(a, b)
    return Quantity(value=a / (a + b), unit="probability", source=Source.COMPUTED, lo=lo, hi=hi, level=LEVEL)


@lru_cache(maxsize=512)
def _ends(a: float, b: float) -> tuple[float, float]:
    import numpy as np

    many = np.random.default_rng(7).beta(a, b, 8000)
    lo, hi = np.quantile(many, [0.5 - LEVEL / 2, 0.5 + LEVEL / 2])
    return float(lo), float(hi)
