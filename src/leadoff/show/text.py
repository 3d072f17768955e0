"""Small words: quantities, times and minutes as people read them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from leadoff.record.quantity import Quantity
from leadoff.words.units import UNIT_KINDS, unit_words

BOUND = "\N{NO-BREAK SPACE}"


@cache
def _in_a_figure() -> re.Pattern[str]:
    """The blanks inside a figure: before its unit, and about the sign of ``2 x 40`` and ``23.3 ± 0.2``."""
    units = "|".join(re.escape(u) for kind in UNIT_KINDS for u in unit_words(kind))
    return re.compile(rf"(?<=\d) (?=%|(?:{units}|[a-z]+/[a-z]+)(?!\w)|[x±] \d)|(?<=\d [x±]) (?=\d)")


def bind(text: str) -> str:
    """The text with its figures in one piece, so that no line ends between a figure and its unit."""
    return _in_a_figure().sub(BOUND, text)


def number(value: float | None, digits: int = 4) -> str:
    """A number without noise: at most ``digits`` significant digits, integers whole."""
    if value is None:
        return "?"
    if value == int(value) and abs(value) < 1e6:
        return str(int(value))
    return f"{value:.{digits}g}"


def amount(q: Quantity, digits: int = 4) -> str:
    """A quantity with its unit; unknown and undefined say so."""
    if q.value is None:
        return q.source.value
    return f"{number(q.value, digits)} {q.unit}".strip()


def sourced(q: Quantity, digits: int = 4) -> str:
    """A quantity with where it comes from."""
    if q.value is None:
        return f"{q.source.value}" + (f" ({q.why})" if q.why else "")
    return f"{amount(q, digits)} [dim]{q.source.value}[/dim]"


def minutes(value: float | None) -> str:
    """Minutes as people say them."""
    if value is None:
        return "? min"
    return f"{value:.0f} min" if value >= 1 else "under a minute"


def chance(value: float | None) -> str:
    """A chance in words that do not pretend: percent, rounded to five in the middle."""
    if value is None:
        return "not known"
    if value > 0.985:
        return "over 98 %"
    if value < 0.015:
        return "under 2 %"
    return f"{round(value * 100)} %"


def band(pair: Any, digits: int = 4) -> str:
    """A band low to high."""
    return "-" if not pair else f"{number(pair[0], digits)} to {number(pair[1], digits)}"


def plain(value: Any) -> str:
    """A setting's value as shown."""
    if value is None:
        return "?"
    if isinstance(value, float):
        return number(value, 5)
    return str(value)


def pairs(table: Mapping[str, Any]) -> str:
    """Settings in one line."""
    return ", ".join(f"{k} {plain(v)}" for k, v in table.items())
