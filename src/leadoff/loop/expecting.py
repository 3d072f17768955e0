"""What the parcel of an offer will do: days, damage, surcharges, from the book's own parcels; its part in the bid."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import msgspec

from leadoff.loop.parcels import Parcels, outlook_view, read_parcels
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Mark
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import note
from leadoff.words.numbers import number
from leadoff.worth.offer import Offer
from leadoff.worth.parcels import Outlook, outlook, row


class Expected(msgspec.Struct, frozen=True, kw_only=True):
    """The outlook of the parcel; ``counts`` when a seller or a carrier was named, so that it moves the bid."""

    outlook: Outlook
    counts: bool
    marks: tuple[Mark, ...] = ()

    @property
    def view(self) -> dict[str, object]:
        return {**outlook_view(self.outlook), "counts": self.counts}


def expected(session: Session, said: Mapping[str, str | None], *, abroad: bool) -> Expected:
    """From the names said: a name that the book does not have rests on the prior, and the marks say so."""
    seller, carrier, promised = said.get("seller"), said.get("carrier"), said.get("promised")
    named = [n for n in (seller, carrier) if n]
    found = _kept(session) if named else Parcels(parcels=(), names={})
    keys = [found.party(n) if n else "" for n in (seller, carrier)]
    days = None
    if promised:
        days = number(promised.lower().replace("days", "").strip()).value
    made = outlook(
        found.parcels,
        date.fromisoformat(session.at[:10]),
        seller=keys[0],
        carrier=keys[1],
        promised_days=days,
        abroad=abroad,
    )
    marks = []
    for name, key in zip((seller, carrier), keys, strict=True):
        if name and not key:
            marks.append(note("party_new", f"the book has no parcel of {name}: what to expect is judgement"))
    if named:
        text = f"parcels of {' and '.join(named)}: {made.rests_on}; damage is taken off the chance to fix"
        marks.append(note("parcel_history", text))
    return Expected(outlook=made, counts=bool(named), marks=tuple(marks))


def weighed(offer: Offer, found: Expected, unit: str) -> Offer:
    """The offer with what its parcel does: a surcharge among the costs, damage in the chance to fix."""
    if not found.counts:
        return offer
    o = found.outlook
    assert o.p_surcharged.value is not None
    assert o.p_damaged.value is not None
    mean = o.p_surcharged.value * o.surcharge
    surcharge = Quantity(
        value=mean, lo=0.0, hi=3.0 * mean, unit=unit, source=Source.COMPUTED, why="surcharges of such parcels"
    )
    p = offer.p_fix
    if p is not None and p.value is not None:
        whole = 1.0 - row("harm") * o.p_damaged.value
        lo, hi = (None if v is None else v * whole for v in (p.lo, p.hi))
        p = msgspec.structs.replace(p, value=p.value * whole, lo=lo, hi=hi)
    return msgspec.structs.replace(offer, costs={**offer.costs, "surcharge": surcharge}, p_fix=p)


def _kept(session: Session) -> Parcels:
    try:
        return read_parcels(session)
    except LeadoffError as error:
        if error.problems[0].code != "book_not_found":
            raise
        return Parcels(parcels=(), names={})
