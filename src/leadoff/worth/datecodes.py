"""Date codes of parts: year and week as printed, to the days that week had; and what they say of a board's age.

The convention is the year's last two digits and the week's number; weeks are those of ISO 8601: week 1 holds the
year's first Thursday, weeks begin on Monday, and only some years have a week 53.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.worth.rows import limit


class DateCode(msgspec.Struct, frozen=True, kw_only=True):
    """One code. ``spans``: the weeks it can mean, first and last day; several when the decade is not printed."""

    text: str
    part: str
    spans: tuple[tuple[date, date], ...]

    @property
    def earliest(self) -> date:
        return self.spans[0][0]

    @property
    def latest(self) -> date:
        return self.spans[-1][1]


class Age(msgspec.Struct, frozen=True, kw_only=True):
    """What codes say: the board was put together on or after ``not_before`` and hardly after ``hardly_after``;
    ``replaced``: parts that came later."""

    not_before: date | None
    hardly_after: date | None
    oldest: date | None
    replaced: tuple[str, ...]
    ambiguous: tuple[str, ...]


def week_span(year: int, week: int) -> tuple[date, date]:
    """Monday and Sunday of an ISO week.

    Raises:
        LeadoffError: a week that the year does not have.
    """
    try:
        first = date.fromisocalendar(year, week, 1)
    except ValueError:
        most = date(year, 12, 28).isocalendar().week
        raise LeadoffError.one(
            "no_such_week",
            f"week {week} does not exist in {year}, which has {most} weeks",
            where=f"{year % 100:02d}{week:02d}",
            do="look at the code again: it may be a lot number, or week and year may be swapped",
        ) from None
    return first, first + timedelta(days=6)


def read_code(text: str, part: str = "") -> DateCode:
    """``9347`` is week 47 of 1993; ``347`` is week 47 of 1973, 1983, 1993 or 2003; ``199347`` is written out.

    Raises:
        LeadoffError: no such form, or a week that does not exist in any year meant.
    """
    digits = text.strip()
    if not digits.isdecimal() or not digits.isascii() or len(digits) not in (3, 4, 6):
        raise LeadoffError.one(
            "not_a_date_code",
            f'"{text.strip()}" is no year and week: a date code has 3, 4 or 6 digits',
            where=text.strip(),
            do="write it as printed: 9347 for week 47 of 1993",
        )
    year_text, week = digits[:-2], int(digits[-2:])
    first, last = int(limit("code_first_year")), int(limit("code_last_year"))
    years = (
        [y for y in range(first, last + 1) if str(y).endswith(year_text)]
        if len(digits) != 6
        else [int(year_text)]
    )
    spans = []
    for year in years:
        if 1 <= week <= date(year, 12, 28).isocalendar().week:
            spans.append(week_span(year, week))
    if not spans:
        week_span(years[-1] if years else last, week)
        raise LeadoffError.one(
            "not_a_date_code",
            f'"{digits}" means no year from {first} to {last}',
            where=digits,
            do="write the year out: 201047",
        )
    return DateCode(text=digits, part=part, spans=tuple(spans))


def age_of(codes: Sequence[DateCode]) -> Age:
    """Bounds of a board's age. Codes of three digits take the decade in which the others lie, where one fits."""
    sure = [c for c in codes if len(c.spans) == 1]
    middle = sorted(c.earliest for c in sure)[len(sure) // 2] if sure else None
    chosen: list[tuple[date, str]] = []
    ambiguous = []
    for c in codes:
        span = c.spans[0] if len(c.spans) == 1 else None
        if span is None and middle is not None:
            span = min(c.spans, key=lambda s: abs((s[0] - middle).days))
        if len(c.spans) > 1:
            ambiguous.append(c.part or c.text)
        if span is not None:
            chosen.append((span[0], c.part or c.text))
    chosen.sort()
    replaced: list[str] = []
    for n in range(len(chosen) - 1, 0, -1):
        gap = (chosen[n][0] - chosen[n - 1][0]).days / 7
        if gap > limit("replaced_weeks") and len(chosen) - n < n:
            replaced = [name for _, name in chosen[n:]]
            chosen = chosen[:n]
    newest = chosen[-1][0] if chosen else None
    return Age(
        not_before=newest,
        hardly_after=newest + timedelta(weeks=limit("assembled_weeks")) if newest else None,
        oldest=chosen[0][0] if chosen else None,
        replaced=tuple(replaced),
        ambiguous=tuple(ambiguous),
    )
