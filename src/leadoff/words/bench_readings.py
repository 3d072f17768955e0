"""Figures read off a board that are no scores, and protocols with how many were bad."""

from __future__ import annotations

import re

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import ProtocolPhrase, ReadingPhrase
from leadoff.words.scan import END, NUM, TIE, Found, Scan, match
from leadoff.words.units import Amount, factor, quantity, unit_words
from leadoff.words.vocabulary import phrase_words

_RAIL = rf"([+-]?\d{{1,2}}(?:[.,]\d{{1,2}})?)\s?v\s+(?:rail\s+)?[=:]?\s*({NUM}\s*(?:m?v|m?a|kv)?){END}"
_OHMS = rf"(r(?:[+-]?\d{{1,2}}(?:[.,]\d)?|core|bat))\s*[=:]?\s*({NUM}\s*(?:k|m)?(?:ohms?)?){END}"
_PLACE = (
    rf"\s*,?\s*(?:(?:(?:at|on|in)\s+(?:the\s+)?)?((?:cpu\s+|ram\s+)?(?:slot|socket|pin|plug|pad|cap|reg|jp)\s?#?\w*)"
    rf"|at\s+(\w[\w.-]*)){END}"
)
_TOO_HIGH = 1.5
"""A rail above this times its name is a slip of the figure (judgement)."""
_LONG = rf"\d+\s*h\s*\d+(?:\s*min|m)?|\d+:\d\d:\d\d|{NUM}\s*(?:h|hours?|hrs?|min|mins|minutes?|d|days?)"
"""How long a soak took, in units that cannot be taken for another."""
_GOOD = "|".join(("ok", "okay", "clean", "pass", "passed", "good", "no errors", "without errors", "fine"))
_BAD = "|".join(
    ("fail", "failed", "fails", "bad", "errors", "error", "crash", "crashed", "hang", "hung", "not ok")
)


def reading(scan: Scan, pos: int) -> Found | None:
    """``5v 4.92 slot6``, ``vbat 2.1``, ``pg 4.9``, ``r5 38 ohm``."""
    if rail := match(scan, _RAIL, pos):
        return _rail(scan, pos, rail[1], rail[2], rail.end())
    if ohms := match(scan, _OHMS, pos):
        return _kept(scan, pos, ohms.end(), ohms[1], ohms[2], ("ohms",))
    for end, row in scan.labels(pos, phrase_words("readings", "reading")):
        tie = TIE.match(scan.plain, end)
        kinds = row["kinds"]
        assert isinstance(kinds, list)
        units = "|".join(u.lower() for kind in kinds for u in unit_words(kind))
        figure = match(scan, rf"{NUM}\s*(?:{units})?{END}", tie.end() if tie else end)
        if figure is None:
            stray = match(scan, rf"\s*(?:\?|-|n/a|default|unknown){END}|\s*$|(?=\s*[,;])", end)
            if stray is None:
                continue
            stop = stray.end() if stray else end
            return scan.ask(
                pos, stop, f"{scan.typed(pos, stop)}: which figure was read? Such as {row['what']} 2.1"
            )
        return _kept(scan, pos, figure.end(), str(row["what"]), figure[0], tuple(kinds))
    return None


def _rail(scan: Scan, pos: int, rail: str, figure: str, end: int) -> Found:
    name = rail.lstrip("+").replace(",", ".") + "v"
    kind = "amps" if figure.rstrip().endswith("a") else "volts"
    found = _kept(scan, pos, end, name, figure, (kind,))
    first = found.phrases[0]
    nominal = abs(float(name[:-1]))
    if kind == "volts" and isinstance(first, ReadingPhrase) and abs(first.value) > _TOO_HIGH * nominal:
        said = scan.typed(pos, end)
        return scan.ask(pos, end, f"{said}: {first.value:g} V on a rail of {name[:-1]} V? Check the figure")
    return found


def _kept(scan: Scan, pos: int, end: int, what: str, figure: str, kinds: tuple[str, ...]) -> Found:
    try:
        amount = _amount(figure.strip(), kinds)
    except LeadoffError as error:
        return scan.ask_error(pos, end, error)
    where = ""
    if place := match(scan, _PLACE, end):
        where, end = (place[1] or place[2]).replace(" ", ""), place.end()
    phrase = ReadingPhrase(
        text=scan.typed(pos, end),
        what=what,
        value=amount.value,
        lo=amount.lo,
        hi=amount.hi,
        unit=amount.unit,
        where=where,
    )
    return Found(end, (phrase,))


def _amount(figure: str, kinds: tuple[str, ...]) -> Amount:
    unit = figure.lstrip("+-0123456789., ")
    fits = [kind for kind in kinds if unit and factor(unit, kind) is not None]
    return quantity(figure, fits[0] if fits else kinds[0])


def protocol(scan: Scan, pos: int) -> Found | None:
    """``soak 8h ok``, ``soak 3h fail``, ``copy 60/60``, ``copy 3 bad of 60``."""
    for end, row in scan.labels(pos, phrase_words("readings", "protocol")):
        gap = match(scan, r"\s*[=:]?\s*", end)
        at = gap.end() if gap else end
        return _copy(scan, pos, end, at) if row["what"] == "copy" else _soak(scan, pos, end, at)
    return None


def _soak(scan: Scan, pos: int, end: int, at: int) -> Found:
    long = match(scan, rf"(?:for\s+|after\s+)?({_LONG}){END}", at)
    if long is None:
        rest = match(scan, r"[^,;]*", at)
        stop = rest.end() if rest else end
        return scan.ask(
            pos, stop, f"{scan.typed(pos, stop)}: for how long, and was it clean? Such as soak 8h ok"
        )
    result = match(scan, rf"\s*,?\s*(?:({_GOOD})|({_BAD})){END}", long.end())
    said = scan.typed(pos, long.end())
    if result is None:
        return scan.ask(pos, long.end(), f"{said}: ok or fail?", (f"{said} ok", f"{said} fail"))
    try:
        hours = quantity(long[1], "duration").value / 3600
    except LeadoffError as error:
        return scan.ask_error(pos, result.end(), error)
    if hours <= 0:
        return scan.ask(pos, result.end(), f"{said}: for how long?")
    stop, clean = result.end(), result[1] is not None
    when = match(scan, rf"\s*,?\s*(?:after|at|in)?\s*({_LONG}|\d+:\d\d){END}", stop)
    failed_h = None
    if when is not None and not clean:
        stop = when.end()
        failed_h = next((h for h in _hours(when[1]) if h <= hours), None)
        if failed_h is None:
            return scan.ask(pos, stop, f"{scan.typed(pos, stop)}: failed after more than it was to last?")
    return Found(
        stop,
        (
            ProtocolPhrase(
                text=scan.typed(pos, stop), protocol="soak", hours=hours, failed_after_h=failed_h, clean=clean
            ),
        ),
    )


def _hours(said: str) -> tuple[float, ...]:
    """What a time into a soak can mean, the likelier first: 1:10 is an hour and ten minutes before it is seconds."""
    if short := re.fullmatch(r"(\d+):(\d\d)", said.strip()):
        big, small = int(short[1]), int(short[2])
        return (big + small / 60, big / 60 + small / 3600)
    return (quantity(said, "duration").value / 3600,)


def _copy(scan: Scan, pos: int, end: int, at: int) -> Found:
    """``count`` is how many were bad; a share is of good ones, and asked for when that would be unusual."""
    stated = match(
        scan,
        rf"(\d{{1,7}})\s*(bad|errors?|wrong|mismatch(?:es)?|good|ok)\s*(?:/|(?:out\s+)?of|in)\s*(\d{{1,7}}){END}",
        at,
    )
    share = match(
        scan, rf"(\d{{1,7}})\s*(?:/|(?:out\s+)?of)\s*(\d{{1,7}})(?:\s*(ok|good|clean|bad))?{END}", at
    )
    found = stated or share
    if found is None:
        rest = match(scan, r"[^,;]*", at)
        stop = rest.end() if rest else end
        return scan.ask(
            pos, stop, f"{scan.typed(pos, stop)}: how many of how many were good? Such as copy 60/60"
        )
    count, word, of = (found[1], found[2], found[3]) if stated else (found[1], found[3], found[2])
    first, total = int(count), int(of)
    said = scan.typed(pos, found.end())
    if total == 0 or first > total:
        return scan.ask(pos, found.end(), f"{said}: {first} of {total} cannot be")
    if word is None and 2 * first < total:
        choices = (f"copy {first} bad of {total}", f"copy {first} good of {total}")
        return scan.ask(pos, found.end(), f"{said}: were {first} bad or good?", choices)
    bad = first if word not in (None, "ok", "good", "clean") else total - first
    phrase = ProtocolPhrase(text=said, protocol="copy", count=bad, of=total, clean=bad == 0)
    return Found(found.end(), (phrase,))
