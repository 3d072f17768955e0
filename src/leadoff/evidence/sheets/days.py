"""Dates as people type them, and which of them can be two days."""

from __future__ import annotations

import re
from datetime import date
from typing import NamedTuple

MONTHS = {
    name: n
    for n, names in enumerate(
        (
            "jan january januar janv",
            "feb february februar fev",
            "mar march maerz märz mrz mars",
            "apr april avr",
            "may mai",
            "jun june juni juin",
            "jul july juli",
            "aug august aou",
            "sep sept september",
            "oct october oktober okt",
            "nov november",
            "dec december dezember dez",
        ),
        start=1,
    )
    for name in names.split()
}
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d{1,2}:\d\d.*)?", re.A)
_DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d\d)", re.A)
_SLASHED = re.compile(r"(\d{1,2})([/-])(\d{1,2})\2(\d{4}|\d\d)", re.A)
_YEAR_FIRST = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})", re.A)
_NAMED = re.compile(r"(\d{1,2})\.?[ -]?([a-zä]{3,9})\.?[ -]?,?\s?'?(\d{4}|\d\d)", re.A | re.I)
_NAMED_FIRST = re.compile(r"([a-zä]{3,9})\.?\s(\d{1,2}),?\s'?(\d{4}|\d\d)", re.A | re.I)
CENTURY = 70
"""Two digits from here on are of the 1900s (common practice, no source)."""


class Day(NamedTuple):
    """The day that was meant, or both that can be: ``dmy`` and ``mdy``, the one order and the other."""

    sure: str = ""
    dmy: str = ""
    mdy: str = ""


def day_of(text: str) -> Day | None:
    """A typed date; ``None`` when it is none. 3.4.99 has the day first; 3/4/99 can be two days, 25/4/99 only one."""
    typed = text.strip()
    if (m := _ISO.fullmatch(typed)) or (m := _YEAR_FIRST.fullmatch(typed)):
        return _sure(int(m[1]), int(m[2]), int(m[3]))
    if m := _DOTTED.fullmatch(typed):
        return _sure(_year(m[3]), int(m[2]), int(m[1]))
    if (m := _NAMED.fullmatch(typed)) and m[2].lower() in MONTHS:
        return _sure(_year(m[3]), MONTHS[m[2].lower()], int(m[1]))
    if (m := _NAMED_FIRST.fullmatch(typed)) and m[1].lower() in MONTHS:
        return _sure(_year(m[3]), MONTHS[m[1].lower()], int(m[2]))
    if m := _SLASHED.fullmatch(typed):
        year, a, b = _year(m[4]), int(m[1]), int(m[3])
        dmy, mdy = _day(year, b, a), _day(year, a, b)
        if dmy and mdy and dmy != mdy:
            return Day("", dmy, mdy)
        return Day(dmy or mdy) if dmy or mdy else None
    return None


def _year(text: str) -> int:
    value = int(text)
    return value if len(text) == 4 else value + (1900 if value >= CENTURY else 2000)


def _day(year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return ""


def _sure(year: int, month: int, day: int) -> Day | None:
    found = _day(year, month, day)
    return Day(found) if found else None
