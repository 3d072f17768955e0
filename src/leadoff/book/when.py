"""Effective time: text with the precision that is known, and the number it sorts by.

Accepted: ``""`` (unknown), ``2026``, ``2026-11``, ``2026-11-25``, ``2026-11-25T10:35``,
``2026-11-25T10:35:07``; the last two may end in ``Z`` or an offset ``+02:00`` (ISO 8601 extended format,
without fractions).
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Final, Literal

from leadoff.record.errors import LeadoffError

Precision = Literal["unknown", "year", "month", "day", "minute", "second"]

UNKNOWN_KEY: Final = -(2**62)
"""Unknown times sort before all known ones: what is known later may override them, never the other way
round.
"""

_SHAPE = re.compile(
    r"(\d{4})(?:-(\d\d)(?:-(\d\d)(?:T(\d\d):(\d\d)(?::(\d\d))?(Z|[+-]\d\d:\d\d)?)?)?)?", re.ASCII
)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@lru_cache(maxsize=65536)
def at_key(at: str) -> int:
    """Seconds since 1970 of the start of what ``at`` says; without an offset it is read as UTC.

    A day sorts at its midnight and a year at its January: entries that share the number are ordered by
    ancestry. Raises LeadoffError ``bad_time`` for any other shape or for a day that does not exist.
    """
    if at == "":
        return UNKNOWN_KEY
    shape = _SHAPE.fullmatch(at)
    if shape is None:
        raise _bad(at)
    year, month, day, hour, minute, second, zone = shape.groups()
    try:
        moment = datetime(
            int(year),
            int(month or 1),
            int(day or 1),
            int(hour or 0),
            int(minute or 0),
            int(second or 0),
            tzinfo=UTC,
        )
    except ValueError:
        raise _bad(at) from None
    seconds = (moment - _EPOCH) // timedelta(seconds=1)
    if zone and zone != "Z":
        if int(zone[1:3]) > 23 or int(zone[4:]) > 59:
            raise _bad(at)
        offset = int(zone[1:3]) * 3600 + int(zone[4:]) * 60
        seconds += offset if zone[0] == "-" else -offset
    return seconds


def precision(at: str) -> Precision:
    """How precisely ``at`` is known; raises LeadoffError ``bad_time`` like :func:`at_key`."""
    at_key(at)
    length = len(re.sub(r"(Z|(?<=:\d\d)[+-]\d\d:\d\d)$", "", at))
    names: dict[int, Precision] = {0: "unknown", 4: "year", 7: "month", 10: "day", 16: "minute", 19: "second"}
    return names[length]


def _bad(at: str) -> LeadoffError:
    return LeadoffError.one(
        "bad_time",
        f"{at!r} is not a time the book can keep, so the entry could not be put in order",
        where="at",
        do="write it like 2026, 2026-11-25, 2026-11-25T10:35 or 2026-11-25T10:35:07+01:00; empty if unknown",
    )
