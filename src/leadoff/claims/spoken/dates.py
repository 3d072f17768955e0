"""Days, months, seasons and years that a sentence names, and whether a run was made then, before or after."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_NAME = "|".join(f"{m}|{m[:3]}" for m in _MONTHS) + "|sept"
_PLAIN = "|".join(f"{m}|{m[:3]}" for m in _MONTHS if m not in ("march", "may")) + "|sept"
"""Months that are no verbs."""
_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"),
    *(
        "eleventh",
        "twelfth",
        "thirteenth",
        "fourteenth",
        "fifteenth",
        "sixteenth",
        "seventeenth",
        "eighteenth",
    ),
    *("nineteenth", "twentieth"),
)
_TENS = rf"(?:20|30)[- ](?:{'|'.join(_ORDINALS[:9])})|thirtieth"
_SEP = "(?: ,)? (?:of |in )?"
_DAY = rf"(?P<day>(?:0?[1-9]|[12]\d|3[01])(?:st|nd|rd|th)?|{_TENS}|{'|'.join(_ORDINALS)})"
_YEAR = r"(?P<year>(?:19|20) ?\d\d)"
"""``twenty nineteen`` is two numbers."""
_SHORT_YEAR = rf"(?:{_YEAR}|'(?P<short>\d\d)\b)"
_SHARES = (
    (
        r"(?:the )?(?:start|beginning|(?:very )?first (?:days|week)|turn) of|(?:very )?early(?: on)? in|early",
        1,
        10,
    ),
    (r"(?:the )?middle of|mid(?:way)?(?: (?:in|through))?|halfway through", 8, 22),
    (
        r"(?:the )?(?:(?:very )?end|close|(?:very )?last (?:days|week)|tail(?: end)?) of|late(?: on)? in|late",
        20,
        31,
    ),
    (r"(?:the )?first half of", 1, 16),
    (r"(?:the )?(?:second|latter|last) half of", 15, 31),
    (r"(?:the )?second week of", 7, 14),
    (r"(?:the )?third week of", 14, 21),
    (r"(?:the )?fourth week of", 21, 28),
)
"""Shares of a month as people speak of them, by their first and last day."""
_PART = "|".join(f"(?P<share{i}>{words})" for i, (words, *_) in enumerate(_SHARES))
_SEASONS = {"spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11), "winter": (12, 1, 2)}
_STRETCHES = {"early": (1, 2, 3, 4), "mid": (5, 6, 7, 8), "late": (9, 10, 11, 12)}
_FEASTS = {
    r"new year's eve": r"\d{4}-12-31",
    r"new year's day": r"\d{4}-01-01",
    r"christmas eve": r"\d{4}-12-24",
    r"christmas(?: day)?": r"\d{4}-12-25",
    r"boxing day": r"\d{4}-12-26",
}
_ANY_YEAR = r"\d{4}"
_SMALL = "after since before until till by from throughout through in of during past that this between and to"
_AFTER = rf"(?:all(?: of)?|{'|'.join(_SMALL.split())})"
_FORMS = tuple(
    re.compile(form)
    for form in (
        rf"\b{_YEAR}-(?P<number>\d\d)-(?P<day>\d\d)\b",
        rf"\b(?:{_PART})[ -](?P<month>{_NAME})\b(?:{_SEP}{_SHORT_YEAR})?",
        rf"\b(?P<month>{_NAME}),? {_YEAR} , (?:{_PART.replace(' in|', '|').replace(' of|', '|')})\b(?! \w)",
        rf"\b(?:on )?(?:the )?{_DAY}(?: of)? (?P<month>{_NAME})\b(?:{_SEP}{_SHORT_YEAR})?",
        rf"\b(?:on )?(?P<month>{_NAME})\.? (?:the )?{_DAY}\b(?! ?(?:mhz|fps|frames|%|s\b|seconds|"
        rf"\.\d))(?:,? {_SHORT_YEAR})?",
        rf"\b(?:in |back in |since |from |of )?(?P<month>{_NAME}){_SEP}{_SHORT_YEAR}(?! ?(?:mhz|fps|%))",
        rf"\b(?:in|back in|during|of|since) (?P<month>{_NAME})\b",
        rf"(?<=\b)(?P<kept>{_AFTER}) (?:the month of )?(?P<month>{_PLAIN})\b",
        r"(?P<kept>\b(?:after|before|until|till|since|by|between|from|throughout)) (?P<month>march|may)\b"
        r"(?! (?:be|have|well|not|i|we|it|you)\b)",
        rf"(?P<kept>\b)(?P<feast>{'|'.join(_FEASTS)})\b(?:{_SEP}{_SHORT_YEAR})?",
        r"\b(?:in |during |over |through )?(?:the |that |this |last )"
        rf"(?P<season>{'|'.join(_SEASONS)})\b(?: of {_SHORT_YEAR})?",
        rf"\b(?:in|during|over) (?P<season>{'|'.join(_SEASONS)})\b(?: {_YEAR}| of {_YEAR.replace('year', 'year_')})?",
        rf"\bon the (?P<day>\d{{1,2}}(?:st|nd|rd|th)|{_TENS}|{'|'.join(_ORDINALS[10:])})\b"
        r"(?! \w+ ?(?:run|board|soak|day|try))",
        rf"\b(?:in |back in )?(?P<stretch>early|mid|late)[ -](?:in )?{_YEAR}\b",
        rf"\b(?:in|back in|during|of|since|from|dated) {_YEAR}\b",
        rf"(?P<kept>\b(?:after|before|until|till|by|into)) {_YEAR}\b(?! ?(?:mhz|fps|%))",
    )
)


def dates_in(low: str, mark: Callable[[str], str]) -> str:
    """Replaces every date by the sign that ``mark`` gives for it, told as a pattern over ``2019-09-02``."""

    def made(m: re.Match[str]) -> str:
        part = m.groupdict()
        short = f"20{part['short']}" if part.get("short") else _ANY_YEAR
        year = (part.get("year") or part.get("year_") or short).replace(" ", "")
        if feast := part.get("feast"):
            form = next(d for said, d in _FEASTS.items() if re.fullmatch(said, feast))
            dated = form.replace(_ANY_YEAR, year)
            return f"{part['kept']} {mark(dated)} "
        share = next((s for i, s in enumerate(_SHARES) if part.get(f"share{i}")), None)
        day = _any_of(range(share[1], share[2] + 1)) if share else _number(part.get("day"))
        return f" {part.get('kept') or ''} {mark(f'{year}-{_month(part)}-{day}')} "

    for form in _FORMS:
        low = form.sub(made, low)
    return low


def _month(part: dict[str, str | None]) -> str:
    if several := part.get("season") or part.get("stretch"):
        return _any_of({**_SEASONS, **_STRETCHES}[several])
    if number := part.get("number"):
        return number
    month = part.get("month")
    if not month:
        return r"\d\d"
    return f"{next(n for n, name in enumerate(_MONTHS, 1) if name.startswith(month[:3])):02d}"


def _any_of(numbers: Iterable[int]) -> str:
    return f"(?:{'|'.join(f'{n:02d}' for n in numbers)})"


def _number(day: str | None) -> str:
    if day is None:
        return r"\d\d"
    if day in _ORDINALS:
        return f"{_ORDINALS.index(day) + 1:02d}"
    if day == "thirtieth":
        return "30"
    tens, _, ones = re.sub("[- ]", " ", day).partition(" ")
    if ones:
        return f"{int(tens) + _ORDINALS.index(ones) + 1:02d}"
    return f"{int(day.rstrip('stndrh')):02d}"


def on_date(when: str, date: str) -> bool:
    """Whether an entry's time falls on a date as told by :func:`dates_in`."""
    return re.match(date, when) is not None


def side_of(when: str, date: str, years: tuple[str, ...] = ()) -> int:
    """-1 where an entry's time lies before a date, 1 after it, 0 on it. A date without a year is of the nearest of
    ``years``, else of the entry's own."""
    if on_date(when, date):
        return 0
    year, month, day = _fields(date)
    own = year if year.isdigit() else next(iter(years), when[:4])
    months = re.findall(r"\d\d", month) if month != r"\d\d" else []
    days = re.findall(r"\d\d", day) if day != r"\d\d" else []
    first = f"{own}-{months[0] if months else '01'}-{days[0] if days else '01'}"
    return -1 if when[:10] < first else 1


def _fields(date: str) -> tuple[str, str, str]:
    m = re.fullmatch(r"(\d{4}|\\d\{4\})-(\d\d|\\d\\d|\(\?:[\d|]+\))-(\d\d|\\d\\d|\(\?:[\d|]+\))", date)
    assert m is not None
    return m[1], m[2], m[3]
