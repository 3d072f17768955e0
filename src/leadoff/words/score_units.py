"""Readings of a workload with their units: figures, clock times and raw counters."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from leadoff.record.errors import LeadoffError
from leadoff.record.runs import Reading
from leadoff.words.numbers import number
from leadoff.words.rows import rows
from leadoff.words.scan import ABOUT_WORD, END, NUM, Scan, match
from leadoff.words.units import quantity

_TIME = r"(?:\d{1,3}:)?\d{1,3}:[0-5]\d(?:[.,]\d{1,3})?"
_TICKS = rf"({NUM})\s*ticks?\s*(?:/|at)\s*({NUM})(?:\s*hz)?{END}"
_FRAMES = rf"({NUM})\s*frames?{END}"
_OTHER = (
    r"(?!\s*(?:x\s+\d|(?:x|mhz|khz|ghz|hz|m?v|ws|ns|wait|banks?|chips?|bits?|of|out|bad|good|times|beeps?|ticks?"
    r"|frames?|[km]b|k|meas\w*|counter|ohms?|h|hours?|%|c)(?=[\s,;]|$)))"
)
"""Words after a figure that make it something else than a score."""


class Score(NamedTuple):
    """One reading, its unit ("" when none was typed) and where it ended."""

    reading: Reading
    unit: str
    end: int


def read_score(scan: Scan, pos: int) -> Score | None:
    """A reading at ``pos``, or None; raises LeadoffError for a figure that is ambiguous or no score."""
    counted = _counters(scan, pos)
    if counted is not None:
        return counted
    if clock_time := match(scan, rf"({_TIME})s?{END}", pos):
        amount = quantity(clock_time[1], "duration")
        text = scan.typed(pos, clock_time.end())
        return Score(
            _positive(Reading(text=text, value=amount.value, lo=amount.lo, hi=amount.hi)),
            "s",
            clock_time.end(),
        )
    found = match(scan, rf"({ABOUT_WORD}{NUM})\s*({_unit_words()})?{END}{_OTHER}", pos)
    if found is None:
        return None
    unit, factor = _unit(found[2])
    figure = number(found[1])
    typed = scan.typed(pos, found.end())
    bounds = (figure.exact, figure.exact - figure.half, figure.exact + figure.half)
    value, lo, hi = (float(bound * factor) for bound in bounds)
    return Score(_positive(Reading(text=typed, value=value, lo=lo, hi=hi)), unit, found.end())


def _positive(reading: Reading) -> Reading:
    if reading.value <= 0:
        raise LeadoffError.one(
            "no_score",
            f"{reading.text} is no score: a failure is not a zero",
            where=reading.text,
            do="say what happened, such as crash or did not finish",
        )
    return reading


def _counters(scan: Scan, pos: int) -> Score | None:
    """``2134 frames 4261 ticks/70`` or ``2134 frames in 41.2s``, in either order, as frames a second.

    Ticks are whole: the time is known to half a tick either way, which sets the interval of the rate. Frames
    are counted exactly. A timer read at both ends can be a whole tick out; that is noise of the run.
    """
    frames = match(scan, _FRAMES, pos)
    if frames is not None:
        gap = match(scan, r"\s*,?\s*(?:(?:in|over|/)\s*)?", frames.end())
        time = _time(scan, gap.end() if gap else frames.end())
        if time is None:
            raise LeadoffError.one(
                "no_time",
                f"{frames[0]} is no rate without a time",
                where=frames[0],
                do=f"such as {frames[0]} 4261 ticks/70, or {frames[0]} in 41.2s",
            )
        return _rate(scan, pos, time[3], frames[1], time[:3])
    time = _time(scan, pos, counter_only=True)
    if time is None:
        return None
    gap = match(scan, r"\s*,?\s*(?:for\s+)?", time[3])
    frames = match(scan, _FRAMES, gap.end() if gap else time[3])
    return _rate(scan, pos, frames.end(), frames[1], time[:3]) if frames else None


def _time(
    scan: Scan, pos: int, *, counter_only: bool = False
) -> tuple[Fraction, Fraction, Fraction, int] | None:
    if ticks := match(scan, _TICKS, pos):
        count, rate = number(ticks[1]).exact, number(ticks[2]).exact
        if rate <= 0 or count <= Fraction(1, 2):
            raise LeadoffError.one(
                "no_score", f"{ticks[0]} is no time", where=ticks[0], do="such as 4261 ticks/70"
            )
        half = Fraction(1, 2)
        return count / rate, (count - half) / rate, (count + half) / rate, ticks.end()
    if counter_only:
        return None
    found = match(scan, rf"({_TIME}|{NUM}\s*(?:s|sec|secs|seconds|ms|min|minutes)){END}", pos)
    if found is None:
        return None
    amount = quantity(found[1], "duration")
    lo, hi = Fraction(amount.lo), Fraction(amount.hi)
    if lo <= 0:
        raise LeadoffError.one("no_score", f"{found[0]} is no time", where=found[0], do="such as 41.2s")
    return amount.exact, lo, hi, found.end()


def _rate(scan: Scan, pos: int, end: int, frames: str, time: tuple[Fraction, Fraction, Fraction]) -> Score:
    count = number(frames).exact
    mid, lo, hi = time
    text = scan.typed(pos, end)
    reading = Reading(text=text, value=float(count / mid), lo=float(count / hi), hi=float(count / lo))
    return Score(_positive(reading), "frames/s", end)


@cache
def _unit_words() -> str:
    words = sorted(rows("scores")["units"], key=len, reverse=True)
    return "|".join(re.escape(w) for w in words)


def _unit(typed: str | None) -> tuple[str, Fraction]:
    if not typed:
        return "", Fraction(1)
    unit, factor = rows("scores")["units"][typed]
    return unit, Fraction(factor)


def same_unit(one: str, other: str) -> str:
    """The kept spelling of a unit, so that ``fps`` and ``frames/s`` are one."""
    units = rows("scores")["units"]
    kept = [units[u.lower()][0] if u.lower() in units else u for u in (one, other)]
    return kept[0] if kept[0] == kept[1] else ""


def scale_between(unit: str, wanted: str) -> Fraction | None:
    """Factor from a typed unit to a workload's own, None when they are of different kinds."""
    units = rows("scores")["units"]
    if not wanted or unit == wanted or same_unit(unit, wanted):
        return Fraction(1)
    own = units.get(wanted.lower())
    return 1 / Fraction(own[1]) if own is not None and own[0] == unit else None
