"""Figures with units. A slip of the unit is a question, never a value."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.words.numbers import ABOUT, number
from leadoff.words.rows import rows

UNIT_KINDS = (
    *("clock", "access", "duration", "volts", "amps", "watts", "ohms"),
    *("memory", "rate", "time_per_kb", "temperature"),
)
"""Kinds ``quantity`` knows: MHz, ns, s, V, A, W, ohm, KB, MB/s, us/KB, C."""

_SIZED = re.compile(r"([+-]?[\d.,][\d., ']*?)\s*([a-z%][a-z/% ]*)?", re.I | re.A)
_CLOCK_TIME = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):([0-5]\d(?:[.,]\d{1,3})?)", re.A)
_HOURS_MINUTES = re.compile(r"(\d{1,4})\s*h(?:\s*([0-5]?\d)\s*(?:m|min)?)", re.A | re.I)
_MINUTES_SECONDS = re.compile(r"(\d{1,4})\s*(?:m|min)\s*([0-5]?\d(?:[.,]\d{1,3})?)\s*s?", re.A | re.I)
_TRADE_VOLTS = re.compile(r"(\d)v(\d{1,2})", re.A | re.I)


class Amount(msgspec.Struct, frozen=True, kw_only=True):
    """A figure in the unit of its kind, with the interval of its printed resolution.

    ``stated``: whether a unit was typed.
    """

    text: str
    value: float
    lo: float
    hi: float
    unit: str
    exact: Fraction
    stated: bool


def quantity(text: str, unit_kind: str) -> Amount:
    """``text`` as an amount of ``unit_kind`` (one of UNIT_KINDS), converted to the kind's own unit.

    Without a unit the kind's own one is meant, so ``15`` of kind access is 15 ns. Durations may be
    ``41.2s``, ``3:20`` (minutes and seconds), ``1:02:03``, ``1h20``, ``8h``, ``12 min``; volts may be ``2v8``.
    KB and MB of memory are 1024 bytes and 1024 KB; MB/s is 10^6 bytes a second.

    Raises LeadoffError: ``not_a_number``, ``unit_slip`` (a unit that cannot be meant: 33 GHz, 60 ms of memory
    access), ``unknown_unit``, ``out_of_range``.
    """
    typed = text.strip()
    kind = _kind(unit_kind)
    special = _special(typed, unit_kind)
    if special is not None:
        exact, step, stated = special
    else:
        exact, step, stated = _plain(typed, unit_kind)
    if not kind.lo <= exact <= kind.hi:
        raise LeadoffError.one(
            "out_of_range",
            f"{typed} is outside of {float(kind.lo):g} to {float(kind.hi):g} {kind.unit}",
            where=typed,
            do="check the figure and its unit",
        )
    return Amount(
        text=typed,
        value=float(exact),
        lo=float(exact - step / 2),
        hi=float(exact + step / 2),
        unit=kind.unit,
        exact=exact,
        stated=stated,
    )


class _Kind(msgspec.Struct, frozen=True):
    unit: str
    factors: dict[str, Fraction]
    slips: frozenset[str]
    lo: Fraction
    hi: Fraction


@cache
def _kind(unit_kind: str) -> _Kind:
    row = rows("units").get(unit_kind)
    if row is None:
        raise ValueError(f"no kind of unit {unit_kind!r}")
    factors = {unit: Fraction(factor) for unit, factor in row["factors"].items()}
    slips = frozenset(s.lower() for s in row["slip"])
    return _Kind(row["unit"], factors, slips, Fraction(row["lo"]), Fraction(row["hi"]))


@cache
def unit_words(unit_kind: str) -> tuple[str, ...]:
    """The spellings of a kind's units, slips included, longest first."""
    row = rows("units")[unit_kind]
    return tuple(sorted((*row["factors"], *row["slip"]), key=len, reverse=True))


def factor(unit: str, unit_kind: str) -> Fraction | None:
    """What one ``unit`` is in the kind's own unit; case decides only between ``m`` and ``M``."""
    kind = _kind(unit_kind)
    if unit in kind.factors:
        return kind.factors[unit]
    folded = {u.lower(): f for u, f in reversed(kind.factors.items())}
    clash = unit[:1] in "mM" and any(u[:1] != unit[:1] and u.lower() == unit.lower() for u in kind.factors)
    return None if clash else folded.get(unit.lower())


def _special(typed: str, unit_kind: str) -> tuple[Fraction, Fraction, bool] | None:
    if unit_kind == "volts" and (found := _TRADE_VOLTS.fullmatch(typed)):
        return Fraction(f"{found[1]}.{found[2]}"), Fraction(1, 10 ** len(found[2])), True
    if unit_kind != "duration":
        return None
    if found := _CLOCK_TIME.fullmatch(typed):
        seconds = number(found[3])
        return Fraction(int(found[1] or 0) * 3600 + int(found[2]) * 60) + seconds.exact, seconds.step, True
    if found := _HOURS_MINUTES.fullmatch(typed):
        return Fraction(int(found[1]) * 3600 + int(found[2] or 0) * 60), Fraction(60), True
    if found := _MINUTES_SECONDS.fullmatch(typed):
        seconds = number(found[2])
        return int(found[1]) * 60 + seconds.exact, seconds.step, True
    return None


def _plain(typed: str, unit_kind: str) -> tuple[Fraction, Fraction, bool]:
    kind = _kind(unit_kind)
    about = ABOUT.match(typed)
    found = _SIZED.fullmatch(typed[about.end() :] if about else typed)
    if found is None:
        raise LeadoffError.one(
            "not_a_number", f"{typed!r} is no figure in {kind.unit}", where=typed, do=f"such as 3 {kind.unit}"
        )
    figure = number(
        (about[0] if about else "") + found[1], comma="decimal" if unit_kind == "clock" else "ask"
    )
    width = Fraction(figure.step) * (5 if about else 1)
    unit = (found[2] or "").strip()
    if not unit:
        return figure.exact, width, False
    scale = factor(unit, unit_kind)
    if scale is not None:
        return figure.exact * scale, width * scale, True
    if unit.lower() in kind.slips:
        raise LeadoffError.one(
            "unit_slip",
            f"{typed}: {unit} cannot be meant here, the unit is {kind.unit}",
            where=typed,
            do=f"did you mean {found[1].strip()} {kind.unit}?",
        )
    raise LeadoffError.one(
        "unknown_unit",
        f"{typed}: {unit} is not a unit known here, the unit is {kind.unit}",
        where=typed,
        do="known: " + ", ".join(kind.factors),
    )
