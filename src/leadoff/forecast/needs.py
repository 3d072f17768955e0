"""What a workload needs of a state: a small language, and why a score is undefined without it.

A need is ``name`` (must be fitted and on), ``name=value``, ``name=a|b`` (one of these), ``name!=value``,
``name>=number`` or ``name<=number``; ``name`` is a setting or a clock (``core_mhz>=60``). ``fpu`` is met by
a processor that has one or by a part in the coprocessor's socket; ``class=486vlb`` asks for a board class.
A setting that is not known does not make a score undefined: only a need that is known to be unmet does.
"""

from __future__ import annotations

import re
from fractions import Fraction

from leadoff.forecast.facts import Setup
from leadoff.record.runs import Workload

_FORM = re.compile(r"^\s*([a-z0-9_.]+)\s*(?:(>=|<=|!=|=)\s*(.+?))?\s*$")
_ABSENT = ("none", "off", "no", "0")


def undefined_because(workload: Workload, setup: Setup) -> str:
    """Why the workload cannot run in this state, empty when it can or when that is not known."""
    unmet = [why for need in workload.needs if (why := _unmet(need, setup))]
    return "; ".join(unmet)


def not_known(workload: Workload, setup: Setup) -> tuple[str, ...]:
    """Needs that the state says nothing about; a forecast then says on what it depends."""
    return tuple(n for n in workload.needs if _judge(n, setup) is None)


def _unmet(need: str, setup: Setup) -> str:
    if _judge(need, setup) is not False:
        return ""
    name, _, _ = _parts(need)
    have = _have(name, setup)
    return f"needs {need.strip()}, here {name} is {have if have is not None else 'absent'}"


def _parts(need: str) -> tuple[str, str, str]:
    found = _FORM.match(need.lower())
    if found is None:
        return need.strip().lower(), "", ""
    return found.group(1), found.group(2) or "", found.group(3) or ""


def _have(name: str, setup: Setup) -> str | None:
    if name in setup.clocks:
        clock = setup.clocks[name]
        return None if clock is None else str(clock)
    if name in ("class", "board_class"):
        return setup.sheet.board_class
    value = setup.state.value(name)
    if name == "fpu":
        return _fpu(value, setup)
    return value


def _fpu(value: str | None, setup: Setup) -> str | None:
    """The processor's own unit counts; an empty coprocessor socket only where the sheet says so."""
    if setup.processor is not None and setup.processor.fpu:
        return "on the processor"
    if value is not None:
        return value
    return (
        "none"
        if setup.processor is not None and setup.processor.fpu is False and not setup.sheet.fpu
        else None
    )


def _judge(need: str, setup: Setup) -> bool | None:
    name, sign, asked = _parts(need)
    have = _have(name, setup)
    if have is None:
        return None
    have = have.lower()
    if not sign:
        return have not in _ABSENT
    if sign in ("=", "!="):
        same = any(_same(have, word.strip()) for word in asked.split("|"))
        return same if sign == "=" else not same
    got, limit = _number(have), _number(asked)
    if got is None or limit is None:
        return None
    return got >= limit if sign == ">=" else got <= limit


def _same(a: str, b: str) -> bool:
    x, y = _number(a), _number(b)
    return a == b if x is None or y is None else x == y


def _number(text: str) -> Fraction | None:
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None
