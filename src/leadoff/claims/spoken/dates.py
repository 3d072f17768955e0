"""Days, months and years that a sentence names, and whether a run was made then."""

from __future__ import annotations

import re
from collections.abc import Callable

_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_NAME = "|".join(f"{m}|{m[:3]}" for m in _MONTHS) + "|sept"
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
_DAY = rf"(?P<day>\d{{1,2}}(?:st|nd|rd|th)?|{'|'.join(_ORDINALS)})"
_YEAR = r"(?P<year>(?:19|20)\d\d)"
_FORMS = tuple(
    re.compile(form)
    for form in (
        rf"\b{_YEAR}-(?P<number>\d\d)-(?P<day>\d\d)\b",
        rf"\b(?:on )?(?:the )?{_DAY}(?: of)? (?P<month>{_NAME})\b(?:,? (?:of |in )?{_YEAR}\b)?",
        rf"\b(?:on )?(?P<month>{_NAME})\.? (?:the )?{_DAY}\b(?! ?(?:mhz|fps|frames|%|s\b|seconds|"
        rf"\.\d))(?:,? {_YEAR}\b)?",
        rf"\b(?:in |back in |since |from |of )?(?P<month>{_NAME}),? (?:of |in )?{_YEAR}\b",
        rf"\b(?:in|back in|late in|early in|during|of|since) (?P<month>{_NAME})\b",
        rf"\b(?:in|back in|late in|early in|during|of|since|late|early) {_YEAR}\b",
    )
)


def dates_in(low: str, mark: Callable[[str], str]) -> str:
    """Replaces every date by the sign that ``mark`` gives for it, told as a pattern over ``2019-09-02``."""

    def made(m: re.Match[str]) -> str:
        part = m.groupdict()
        month = part.get("number") or (
            f"{next(n for n, name in enumerate(_MONTHS, 1) if name.startswith(part['month'][:3])):02d}"
            if part.get("month")
            else r"\d\d"
        )
        day = _number(part.get("day"))
        year = part.get("year") or r"\d{4}"
        return f" {mark(f'{year}-{month}-{day}')} "

    for form in _FORMS:
        low = form.sub(made, low)
    return low


def _number(day: str | None) -> str:
    if day is None:
        return r"\d\d"
    return f"{_ORDINALS.index(day) + 1 if day in _ORDINALS else int(day.rstrip('stndrh')):02d}"


def on_date(when: str, date: str) -> bool:
    """Whether an entry's time falls on a date as told by :func:`dates_in`."""
    return re.match(date, when) is not None
