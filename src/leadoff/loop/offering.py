"""What a person stated about an offer, made into one: currencies, borders, what is unstated, repair odds."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.loop.expecting import Expected, expected, weighed
from leadoff.loop.repair_odds import Odds, board_odds, listing_odds
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import mark, note
from leadoff.words.money import money, probability
from leadoff.worth.customs import Rule, Triple, is_import, rule_for
from leadoff.worth.offer import SAID, Border, Offer
from leadoff.worth.rows import bands

SHIPPING = ("postage_home", "postage", "packing", "insurance", "brokerage")
OWN = ("duty", "tax")


class Given(msgspec.Struct, frozen=True, kw_only=True):
    """An offer as stated. ``left_out``: components nobody mentioned and that need not exist."""

    offer: Offer
    left_out: tuple[str, ...]
    odds_from: str
    chance: Quantity
    parcel: Expected
    marks: tuple[Mark, ...]

    @property
    def can_bid(self) -> bool:
        """Whether a bid follows: somebody said what the board is worth."""
        return self.offer.working is not None


def offer_of(session: Session, board: str | None, said: Mapping[str, str | None]) -> Given:
    """Read what was stated. Raises LeadoffError for every amount, rate or country that cannot be read."""
    purse = _Purse(said)
    marks: list[Mark] = []
    border = _border(session, said, purse, marks)
    abroad = _abroad(said)
    asked = purse.amount("asked")
    if asked is not None and asked.value is None:
        asked = None
    costs = {n: q for n in (*SHIPPING, *OWN) if (q := purse.amount(n)) is not None}
    costs = {n: _or_band(n, q, purse.unit, abroad=abroad) for n, q in costs.items()}
    if "postage" not in costs:
        costs["postage"] = _unstated("postage", purse.unit, abroad=abroad)
    if border is not None and "brokerage" not in costs:
        costs["brokerage"] = _brokerage(border, purse.unit)
    if (hours := _hours(said, purse)) is not None:
        costs["hours"] = hours
    spread = _spread(said, purse)
    odds = _odds(session, board, said)
    marks += odds.marks
    working = purse.amount("working")
    offer = Offer(
        currency=purse.currency,
        asked=asked,
        costs=costs,
        border=border,
        foreign=frozenset(purse.foreign),
        spread=spread,
        working=working if working is not None and working.value is not None else None,
        tolerance=purse.tolerance(said.get("risk")),
    )
    if offer.working is not None:
        parts = purse.amount("parts")
        offer = msgspec.structs.replace(
            offer,
            donor=_donor(purse, offer.working),
            parts=bands()["parts"].assumed(purse.unit) if parts is None or parts.value is None else parts,
            p_fix=odds.chance,
        )
    parcel = expected(session, said, abroad=abroad)
    marks += parcel.marks
    offer = weighed(offer, parcel, purse.unit)
    left = tuple(SAID[n] for n in (*SHIPPING[:1], *SHIPPING[2:4], "hours") if n not in costs)
    if not said.get("from_country"):
        marks.append(note("taken_as_home", "no country of the seller was given: taken as a purchase at home"))
    if left:
        marks.append(note("left_out", f"not mentioned and not in the sum: {', '.join(left)}"))
    marks += [_assumed(q) for q in offer.inputs().values() if q.source is Source.ASSUMED and q.lo is not None]
    return Given(
        offer=offer,
        left_out=left,
        odds_from=odds.origin + (", less damage in the post" if parcel.counts else ""),
        chance=offer.p_fix or odds.chance,
        parcel=parcel,
        marks=tuple(marks),
    )


def _assumed(q: Quantity) -> Mark:
    unit = "" if q.unit in ("currency", "probability") else f" {q.unit}"
    return note("assumed", f"{q.why}: taken as {q.lo:.3g} to {q.hi:.3g}{unit}")


class _Purse:
    """Amounts in one currency; others are exchanged at the rate that was given, and remembered as foreign."""

    def __init__(self, said: Mapping[str, str | None]) -> None:
        self.said = said
        self.foreign: set[str] = set()
        self.rates = _rates(said.get("rate"))
        self.currency = (said.get("currency") or "").upper() or self._first()
        self.unit = self.currency

    def _first(self) -> str:
        """The currency of the value working, else of the price, when one was typed."""
        for name in ("working", "donor", "asked"):
            text = self.said.get(name)
            if text and (code := money(text).currency) and code not in self.rates:
                return code
        return "currency"

    def amount(self, name: str) -> Quantity | None:
        """A stated amount in the buyer's currency; ``None`` when nothing was stated."""
        text = self.said.get(name)
        if text is None:
            return None
        typed = money(text, what=SAID.get(name, name))
        q = typed.amount
        if q.value is None or typed.currency in ("", self.currency):
            return msgspec.structs.replace(q, unit=self.unit)
        if typed.currency not in self.rates:
            raise LeadoffError.one(
                "no_rate",
                f"{text} is in {typed.currency} and the sum is in {self.currency}: no rate was given",
                where=text,
                do=f'give --rate "{typed.currency} 0.92", what one {typed.currency} costs in {self.currency}',
            )
        self.foreign.add(name)
        rate = self.rates[typed.currency]
        scaled = [None if v is None else v * rate for v in (q.value, q.lo, q.hi)]
        return msgspec.structs.replace(q, value=scaled[0], lo=scaled[1], hi=scaled[2], unit=self.unit)

    def rate_of(self, currency: str) -> float | None:
        """What one unit of a currency is in the buyer's."""
        return 1.0 if currency == self.currency else self.rates.get(currency)

    def tolerance(self, text: str | None) -> float | None:
        """The risk tolerance, ``None`` for none."""
        if text is None:
            return None
        value = money(text, what="risk tolerance").amount.value
        if not value:
            raise LeadoffError.one(
                "no_tolerance",
                f"a risk tolerance of {text} would forbid every purchase",
                where=text,
                do="give the largest sum R for which you would take an even chance to win R or lose half of it",
            )
        return value


def _rates(text: str | None) -> dict[str, float]:
    out: dict[str, float] = {}
    for part in (text or "").replace(";", ",").split(","):
        if not part.strip():
            continue
        read = money(part, what="rate")
        if not read.currency or not read.amount.value:
            raise LeadoffError.one(
                "no_rate", f"{part.strip()} is no rate", where=part.strip(), do='write --rate "USD 0.92"'
            )
        out[read.currency] = read.amount.value
    return out


def _or_band(name: str, q: Quantity, unit: str, *, abroad: bool) -> Quantity:
    return _unstated(name, unit, abroad=abroad) if q.value is None else q


def _unstated(name: str, unit: str, *, abroad: bool) -> Quantity:
    """The band of a component that exists and was not stated: never zero."""
    row = bands().get(f"{name}_abroad" if abroad and name == "postage" else name)
    if row is None:
        raise LeadoffError.one(
            "no_band",
            f"nothing is known of what {SAID[name]} may be",
            where=name,
            do="give --from and --to, so that the rule of the country counts, or state the amount",
        )
    return row.assumed(unit)


def _abroad(said: Mapping[str, str | None]) -> bool:
    start, end = ((said.get(n) or "").strip().upper() for n in ("from_country", "to_country"))
    return bool(start and end and start != end)


def _brokerage(border: Border, unit: str) -> Quantity:
    b, rate = border.rule.brokerage, border.rate
    why = f"what the carrier takes for customs is not stated ({border.rule.zone})"
    return Quantity(
        value=b.value * rate, lo=b.lo * rate, hi=b.hi * rate, unit=unit, source=Source.ASSUMED, why=why
    )


def _border(
    session: Session, said: Mapping[str, str | None], purse: _Purse, marks: list[Mark]
) -> Border | None:
    start, end = ((said.get(n) or "").strip().upper() for n in ("from_country", "to_country"))
    if not start:
        return None
    if not end:
        raise LeadoffError.one(
            "where_to",
            f"the seller is in {start}; whether a border lies between was not said",
            where=start,
            do="give --to with your own country's two letters",
        )
    if not is_import(start, end) or (said.get("duty") is not None and said.get("tax") is not None):
        return None
    rule = rule_for(end, session.at[:10])
    rate = purse.rate_of(rule.currency)
    if rate is None:
        text = f"limits of the rule are in {rule.currency} and no rate to {purse.currency} was given: taken as equal"
        marks.append(mark(Level.AMBER, "limits_not_exchanged", text))
    return Border(rule=rule, duty_pct=_duty(said.get("duty_pct"), rule), rate=rate or 1.0)


def _duty(text: str | None, rule: Rule) -> Quantity:
    if (
        text is not None
        and (q := probability(text if "%" in text else f"{text} %", what="rate of duty")).value is not None
    ):
        scaled = [None if v is None else 100 * v for v in (q.value, q.lo, q.hi)]
        return msgspec.structs.replace(q, value=scaled[0], lo=scaled[1], hi=scaled[2], unit="%")
    t: Triple = rule.duty_pct
    banded = t.hi > t.lo
    return Quantity(
        value=t.value,
        lo=t.lo if banded else None,
        hi=t.hi if banded else None,
        unit="%",
        source=Source.ASSUMED if banded else Source.READ,
        why=f"rate of duty ({rule.zone}, {rule.certainty})",
    )


def _spread(said: Mapping[str, str | None], purse: _Purse) -> Quantity | None:
    if not purse.foreign:
        return None
    text = said.get("spread")
    if text is None:
        return bands()["spread"].assumed("%")
    q = money(text.rstrip("% "), what="currency spread").amount
    return bands()["spread"].assumed("%") if q.value is None else msgspec.structs.replace(q, unit="%")


def _hours(said: Mapping[str, str | None], purse: _Purse) -> Quantity | None:
    """Own hours in money: only when somebody says what an hour is worth."""
    hour = purse.amount("hour")
    if hour is None or hour.value is None:
        return None
    text = said.get("hours")
    q = money(text, what="own hours").amount if text else bands()["hours"].assumed("h")
    if q.value is None:
        q = bands()["hours"].assumed("h")
    scaled = [None if v is None else v * hour.value for v in (q.value, q.lo, q.hi)]
    return msgspec.structs.replace(q, value=scaled[0], lo=scaled[1], hi=scaled[2], unit=purse.unit)


def _donor(purse: _Purse, working: Quantity) -> Quantity:
    stated = purse.amount("donor")
    if stated is not None and stated.value is not None:
        return stated
    row = bands()["donor_share"]
    assert working.value is not None
    v = working.value
    return Quantity(
        value=row.value * v, lo=row.lo * v, hi=row.hi * v, unit=purse.unit, source=Source.ASSUMED, why=row.why
    )


def _odds(session: Session, board: str | None, said: Mapping[str, str | None]) -> Odds:
    """Repair odds: as stated, else from a listing's words, else from what is known of a board, else a band."""
    text = said.get("p_fix")
    if text is not None and (stated := probability(text, what="chance to fix")).value is not None:
        return Odds(chance=msgspec.structs.replace(stated, unit="probability"), origin="declared")
    listing = said.get("listing")
    if listing is not None:
        return listing_odds(listing, said.get("board_class"))
    if board is not None:
        return board_odds(session, board)
    row = bands()["p_fix"]
    return Odds(chance=row.assumed("probability"), origin="assumed: " + row.why)
