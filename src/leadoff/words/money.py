"""Amounts of money and chances as people type them: a figure, a band, a currency's code, ``?``."""

from __future__ import annotations

import re

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, Source, unknown
from leadoff.words.numbers import number

_SPAN = re.compile(r"\s*(?:\.\.+|–| to |(?<=\d)\s*-\s*(?=\d))\s*", re.I)
_CODE = re.compile(r"^(?:([A-Za-z]{3})\s+)?(.*?)(?:\s*([A-Za-z]{3}))?$", re.S)
_SIGNS = {"€": "EUR", "£": "GBP"}
_DOLLARS = ("$", "¥")
UNKNOWN_WORDS = ("?", "unknown", "not known")


class Money(msgspec.Struct, frozen=True, kw_only=True):
    """An amount; ``currency`` is empty when none was typed."""

    amount: Quantity
    currency: str


def money(text: str, *, what: str = "amount") -> Money:
    """``14``, ``14,50``, ``9..15``, ``9 to 15``, ``14 EUR``, ``USD 14``, ``?``. The unit is left to the caller.

    A band is taken as nine cases in ten with the middle of its ratio (of its sum, where it begins at zero).

    Raises:
        LeadoffError: ``not_a_number``, a negative amount, ends the wrong way round, a sign several
            countries use.
    """
    typed = text.strip()
    if typed.lower() in UNKNOWN_WORDS:
        return Money(amount=unknown("", f"{what} was said to be not known"), currency="")
    for sign in _DOLLARS:
        if sign in typed:
            raise LeadoffError.one(
                "which_currency",
                f"{typed}: several countries write {sign}, so the currency cannot be told",
                where=typed,
                do="write the three letters: 14 USD",
            )
    code = ""
    for sign, name in _SIGNS.items():
        if sign in typed:
            code, typed = name, typed.replace(sign, "").strip()
    found = _CODE.match(typed)
    assert found is not None
    code, bare = (found[1] or found[3] or code).upper(), found[2].strip()
    ends = [number(part).value for part in _SPAN.split(bare)] if bare else [number(text).value]
    if len(ends) > 2 or min(ends) < 0 or ends != sorted(ends):
        raise LeadoffError.one(
            "not_an_amount",
            f"{text.strip()} is no {what}: a band goes from the smaller to the larger, and none is below zero",
            where=text.strip(),
            do="write 14 or 9..15, or ? when it is not known",
        )
    lo, hi = ends[0], ends[-1]
    middle = (lo * hi) ** 0.5 if lo > 0 else (lo + hi) / 2
    amount = Quantity(
        value=lo if len(ends) == 1 else middle,
        unit="",
        source=Source.DECLARED,
        lo=None if len(ends) == 1 else lo,
        hi=None if len(ends) == 1 else hi,
    )
    return Money(amount=amount, currency=code)


def probability(text: str, *, what: str = "chance") -> Quantity:
    """``0.55``, ``55 %``, ``40..70 %``, ``?``.

    Raises:
        LeadoffError: no number, or not between 0 and 1.
    """
    typed = text.strip()
    percent = typed.endswith("%")
    said = money(typed.rstrip("% "), what=what)
    q = said.amount
    if q.value is None:
        return q
    scale = 100.0 if percent else 1.0
    ends = [None if v is None else v / scale for v in (q.value, q.lo, q.hi)]
    if said.currency or max(v for v in ends if v is not None) > 1:
        raise LeadoffError.one(
            "not_a_chance",
            f"{typed} is no {what}: it lies between 0 and 1, or is written with %",
            where=typed,
            do="write 0.55 or 55 %",
        )
    return msgspec.structs.replace(q, value=ends[0], lo=ends[1], hi=ends[2])
