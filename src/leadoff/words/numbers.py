"""Numbers as people type them: decimal comma or point, thousands, and the interval a printed figure stands for."""

from __future__ import annotations

import re
from fractions import Fraction

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.record.runs import Reading

ABOUT = re.compile(r"^(?:~|about\s+|approx\.?\s+|ca\.?\s+|circa\s+)\s*", re.I)
ABOUT_STEPS = 5
"""How much wider "about" makes the interval: five half steps of the last place (judgement)."""

MAX_DIGITS = 15
"""More digits than a double holds would be changed without a word."""

_PLAIN = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)", re.A)
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:([., '])\d{3})(?:\1\d{3})*(?:([.,])(\d+))?", re.A)


class Number(msgspec.Struct, frozen=True, kw_only=True):
    """A typed number. ``exact`` is the printed figure; it stands for anything in [``lo``, ``hi``).

    ``step`` is the last printed place, ``half`` half the width of the interval, wider for "about".
    """

    text: str
    value: float
    lo: float
    hi: float
    exact: Fraction
    step: Fraction
    half: Fraction

    def as_reading(self) -> Reading:
        """The same as a reading of a run."""
        return Reading(text=self.text, value=self.value, lo=self.lo, hi=self.hi)


def number(text: str, *, comma: str = "ask") -> Number:
    """The number that ``text`` says, with the interval of its printed resolution.

    ``23.5`` and ``23,5`` are [23.45, 23.55), ``23.50`` is ten times narrower, ``~23.5`` and ``about 23.5``
    five times wider. ``1.234,5``, ``1,234.5``, ``1 234.5`` and ``1 234`` have thousands separators. A comma
    before exactly three digits (``1,234``) is refused as ambiguous unless ``comma="decimal"``, for values
    such as clocks where a thousand is out of the question. A point alone is always a decimal point.

    Raises LeadoffError ``not_a_number``, ``ambiguous_number`` or ``too_many_digits``. A blank is no number.
    """
    typed = text.strip()
    about = ABOUT.match(typed)
    bare = typed[about.end() :] if about else typed
    plain, places = _plain_digits(bare, typed, comma)
    if sum(c.isdigit() for c in plain) > MAX_DIGITS:
        raise LeadoffError.one(
            "too_many_digits",
            f"{typed} has more than {MAX_DIGITS} digits, more than can be kept exactly",
            where=typed,
            do="type the digits that were printed",
        )
    exact = Fraction(plain)
    step = Fraction(1, 10**places)
    half = step / 2 * (ABOUT_STEPS if about else 1)
    return Number(
        text=typed,
        value=float(exact),
        lo=float(exact - half),
        hi=float(exact + half),
        exact=exact,
        step=step,
        half=half,
    )


def reading(text: str) -> Reading:
    """A printed score as a Reading; raises as ``number`` does."""
    return number(text).as_reading()


def _plain_digits(bare: str, typed: str, comma: str) -> tuple[str, int]:
    """``bare`` with a decimal point and no separators, and how many places it was printed to."""
    grouped = _GROUPED.fullmatch(bare)
    if grouped is not None:
        mark, decimal, places = grouped.groups()
        several = bare.count(mark) > 1
        if decimal is not None and decimal != mark:
            whole = bare[: grouped.start(2)].replace(mark, "")
            return f"{whole}.{places}", len(places)
        if decimal is None and (mark in " '" or several):
            return bare.replace(mark, ""), 0
        if decimal is None and mark == "," and comma == "ask" and bare.lstrip("+-")[0] != "0":
            decimal_text, thousands_text = bare.replace(",", "."), bare.replace(",", "")
            raise LeadoffError.one(
                "ambiguous_number",
                f"{typed} can be {decimal_text} or {thousands_text}",
                where=typed,
                do=f"type {decimal_text} or {thousands_text}",
            )
    if _PLAIN.fullmatch(bare) is None:
        what = f"{typed!r} is not a number" if typed else "nothing was typed where a number belongs"
        raise LeadoffError.one("not_a_number", what, where=typed, do="type digits, such as 23.5 or 23,5")
    plain = bare.replace(",", ".").rstrip(".")
    return plain, len(plain.partition(".")[2])
