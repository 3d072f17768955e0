"""Parcels as the book keeps them: words to entries, entries to parcels, the list of what is on its way."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import msgspec

from leadoff.loop.session import Session
from leadoff.record.entries import DealBody, PartyBody
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity
from leadoff.words.money import money
from leadoff.words.numbers import number
from leadoff.worth.parcels import Outlook, Parcel, arrival, outlook

PARCEL = "parcel"
SELLER, CARRIER = "seller", "carrier"
GONE = "name taken out"
_BETWEEN = re.compile(r"(?<!\d),|,(?!\d)|;")
"""What parts two clauses: a comma between two digits belongs to an amount, as in 22,50."""
FORMS = (
    "p3 (an earlier one), holds PART, from SELLER, by CARRIER, ordered DATE, promised N days, came DATE, "
    "whole, damaged, surcharge AMOUNT, price AMOUNT, abroad"
)


class Parcels(msgspec.Struct, frozen=True, kw_only=True):
    """Every parcel of the book, and the names of parties by their entry."""

    parcels: tuple[Parcel, ...]
    names: Mapping[str, str]

    def party(self, name: str) -> str:
        """The entry of a party by name, empty when the book has none."""
        wanted = " ".join(name.lower().split())
        return next((i for i, n in self.names.items() if n.lower() == wanted), "")

    def named(self, entry: str) -> str:
        """A party's name; a redacted one is gone everywhere."""
        return self.names.get(entry, GONE) if entry else ""


def read_parcels(session: Session) -> Parcels:
    """Parcels folded from their entries, in the order of the book."""
    names: dict[str, str] = {}
    kept: dict[str, dict[str, Any]] = {}
    for entry in session.book.live({"party", "deal"}):
        if entry.body is None:
            continue
        if entry.kind == "party":
            names[entry.id] = msgspec.json.decode(entry.body, type=PartyBody).name
            continue
        body = msgspec.json.decode(entry.body, type=DealBody)
        if body.what == PARCEL and body.number:
            _fold(kept.setdefault(body.number, {"number": body.number}), body, entry.at)
    return Parcels(parcels=tuple(Parcel(**k) for k in kept.values()), names=names)


def _fold(known: dict[str, Any], body: DealBody, at: str) -> None:
    said: dict[str, Any] = {
        "board": body.board,
        "holds": body.holds,
        "seller": body.party,
        "carrier": body.carrier,
        "abroad": body.abroad,
        "promised_days": body.promised_days,
        "damaged": body.damaged,
    }
    known.setdefault("ordered", date.fromisoformat(at[:10]))
    known |= {name: v for name, v in said.items() if v not in (None, "")}
    known |= {n: date.fromisoformat(body.dates[n]) for n in ("ordered", "came") if n in body.dates}
    if "price" in body.amounts:
        known["price"] = body.amounts["price"]
    if "surcharge" in body.amounts:
        known["surcharge"] = body.amounts["surcharge"].value


def keep_parcel(session: Session, board: str, text: str) -> tuple[str, str]:
    """Keep what was said of a parcel; its number and its entry.

    Raises:
        LeadoffError: a clause that is none of ``FORMS``, a parcel or a day that does not exist.
    """
    there = read_parcels(session)
    known = {p.number: p for p in there.parcels}
    told: dict[str, Any] = {}
    amounts: dict[str, Quantity] = {}
    dates: dict[str, str] = {}
    named: dict[str, str] = {}
    for clause in (c.strip() for c in _BETWEEN.split(text)):
        if clause:
            _clause(clause, session.at[:10], told, amounts, dates, named)
    if not (told or amounts or dates or named):
        raise _what(text)
    old = told.get("number")
    if old is not None and old not in known:
        has = ", ".join(known) or "none"
        raise LeadoffError.one("no_parcel", f"there is no parcel {old}; parcels: {has}", where=old)
    if old is None and "came" in dates and "ordered" not in dates:
        raise LeadoffError.one(
            "ordered_when",
            "a parcel that came needs the day it was ordered",
            where=text,
            do="add: ordered 2026-03-01",
        )
    ordered = dates.get("ordered") or (known[old].ordered.isoformat() if old else session.at[:10])
    if dates.get("came", ordered) < ordered:
        raise LeadoffError.one(
            "came_before",
            f"it came on {dates['came']} and was ordered on {ordered}",
            where=text,
            do="check the days",
        )
    if old is None:
        dates.setdefault("ordered", ordered)
    made = told.pop("number", None) or _next(known)
    parties = {role: there.party(name) or _party(session, name, role) for role, name in named.items()}
    (entry,) = session.write(
        DealBody(
            board=board,
            what=PARCEL,
            number=made,
            amounts=amounts,
            dates=dates,
            party=parties.get(SELLER, ""),
            carrier=parties.get(CARRIER, ""),
            **told,
        )
    )
    return made, entry.id


def _clause(
    clause: str,
    today: str,
    told: dict[str, Any],
    amounts: dict[str, Quantity],
    dates: dict[str, str],
    named: dict[str, str],
) -> None:
    word, _, rest = clause.partition(" ")
    word, rest = word.lower(), " ".join(rest.split())
    if re.fullmatch(r"p\d+[a-z]?", word) and not rest:
        told["number"] = word
    elif word in ("from", "by") and rest:
        named[SELLER if word == "from" else CARRIER] = rest[:80]
    elif word == "holds" and rest:
        told["holds"] = " ".join(rest.lower().split())[:120]
    elif word in ("ordered", "came"):
        dates[word] = _day(rest, today)
    elif word == "promised" and rest:
        told["promised_days"] = number(rest.lower().removesuffix("s").removesuffix("day").strip()).value
    elif word in ("damaged", "whole") and not rest:
        told["damaged"] = word == "damaged"
    elif word == "abroad" and not rest:
        told["abroad"] = True
    elif word in ("surcharge", "price") and rest:
        read = money(rest, what=word)
        amounts[word] = msgspec.structs.replace(read.amount, unit=read.currency)
    else:
        raise _what(clause)


def _what(text: str) -> LeadoffError:
    return LeadoffError.one(
        "not_of_a_parcel", f'"{text}" says nothing of a parcel', where=text, do=f"write {FORMS}"
    )


def _day(text: str, today: str) -> str:
    try:
        return date.fromisoformat(text or today).isoformat()
    except ValueError:
        raise LeadoffError.one(
            "no_day", f"{text} is no day", where=text, do="write it as 2026-03-01"
        ) from None


def _next(known: Mapping[str, Parcel]) -> str:
    used = [int(re.sub(r"\D", "", n) or 0) for n in known]
    return f"p{max(used, default=0) + 1}"


def _party(session: Session, name: str, role: str) -> str:
    """A party's own entry, so that one redaction takes the name out everywhere."""
    return session.write(PartyBody(name=name, role=role))[0].id


def on_the_way(found: Parcels, today: date, board: str = "") -> list[dict[str, Any]]:
    """Parcels that have not come, by the day they are due, each with its band."""
    rows = []
    for p in found.parcels:
        if p.came is not None or (board and p.board != board):
            continue
        early, middle, late = arrival(p, found.parcels, today)
        rows.append(
            {
                "parcel": p.number,
                "holds": p.holds,
                "board": p.board or None,
                "seller": found.named(p.seller),
                "carrier": found.named(p.carrier),
                "ordered": p.ordered.isoformat(),
                "promised_days": p.promised_days,
                "due_from": early.isoformat(),
                "due": middle.isoformat(),
                "due_to": late.isoformat(),
                "late": bool(p.promised_days and (today - p.ordered).days > p.promised_days),
            }
        )
    return sorted(rows, key=lambda r: str(r["due"]))


def parties(found: Parcels, today: date) -> list[dict[str, Any]]:
    """What each seller and carrier has done, and what its next parcel will do."""
    rows = []
    for role in (SELLER, CARRIER):
        for entry in dict.fromkeys(getattr(p, role) for p in found.parcels if getattr(p, role)):
            mine = [p for p in found.parcels if getattr(p, role) == entry]
            asked: dict[str, Any] = {role: entry}
            rows.append(
                {
                    "party": found.named(entry),
                    "role": role,
                    "parcels": len(mine),
                    "days": [p.days for p in mine if p.days is not None],
                    "promised": [p.promised_days for p in mine if p.days is not None],
                    "damaged": sum(bool(p.damaged) for p in mine),
                    "surcharged": sum(bool(p.surcharge) for p in mine),
                    **outlook_view(
                        outlook(found.parcels, today, abroad=any(p.abroad for p in mine), **asked)
                    ),
                }
            )
    return rows


def outlook_view(o: Outlook) -> dict[str, Any]:
    """An outlook for the contract."""
    return {
        "lead_days": o.lead_days,
        "p_damaged": o.p_damaged,
        "p_surcharged": o.p_surcharged,
        "surcharge": o.surcharge,
        "rests_on": o.rests_on,
    }


def prices_of(found: Parcels, board: str) -> Sequence[str]:
    """What a board's parcels cost, in words; for a public file that is asked to have it."""
    out = []
    for p in found.parcels:
        if p.board != board or p.price is None or p.price.value is None:
            continue
        more = f", surcharge {p.surcharge:g}" if p.surcharge else ""
        out.append(f"{p.price.value:g} {p.price.unit}".strip() + more)
    return out
