"""The user's own table: causes with chances, tests with minutes and accuracies, in TOML.

    [[cause]]                       [[test]]
    name = "capacitors"             name = "ripple"
    p = 0.40                        minutes = 3
                                    cause = "capacitors"
                                    sensitivity = 0.90
                                    specificity = 0.95

Causes exclude each other (exactly one is present) unless ``mode = "several"`` or the words say so; then they
are independent and at least one is present.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from leadoff.record.errors import LeadoffError, Problem

_ONE = 1e-9
T = TypeVar("T")


class Cause(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cause with its chance; ``minutes`` and ``parts`` of its repair may be left out."""

    name: str
    p: float
    repair: str = ""
    minutes: float | None = None


class TableTest(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A test for one cause: finds it with ``sensitivity``, is clean without it with ``specificity``."""

    name: str
    minutes: float
    cause: str
    sensitivity: float = 1.0
    specificity: float = 1.0
    caution: str = ""


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """Causes and tests as read; ``normalised`` when the chances of exclusive causes did not add to 1."""

    causes: tuple[Cause, ...]
    tests: tuple[TableTest, ...]
    mode: str
    normalised: bool = False


def read_table(source: Path | str) -> Table:
    """A table from a path, or from TOML text. Raises ``LeadoffError`` with every mistake."""
    text, where = _text(source)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise LeadoffError.one(
            "faults.table",
            f"{where} is not TOML: {err}; nothing was read",
            where=where,
            do="correct the file",
        ) from err
    problems: list[Problem] = []
    for key in sorted(set(document) - {"cause", "test", "mode"}):
        problems.append(_problem(where, key, "is not known here; allowed are [[cause]], [[test]] and mode"))
    causes = _rows(document.get("cause", []), Cause, "cause", where, problems)
    tests = _rows(document.get("test", []), TableTest, "test", where, problems)
    mode = document.get("mode", "exactly_one")
    if mode not in ("exactly_one", "several"):
        problems.append(_problem(where, "mode", f"is {mode!r}; say exactly_one or several"))
    problems += _values(where, causes, tests)
    if problems:
        raise LeadoffError(*problems)
    off = mode == "exactly_one" and abs(sum(c.p for c in causes) - 1) > _ONE
    return Table(causes=tuple(causes), tests=tuple(tests), mode=mode, normalised=off)


def _text(source: Path | str) -> tuple[str, str]:
    if isinstance(source, str):
        return source, "the table"
    try:
        return source.read_text(encoding="utf-8"), source.name
    except (OSError, UnicodeDecodeError) as err:
        text = f"{source.name} cannot be read: {err}; without it there are no causes to weigh"
        raise LeadoffError.one("faults.table", text, where=source.name, do="give a TOML file") from err


def _rows(rows: Any, kind: type[T], name: str, where: str, problems: list[Problem]) -> list[T]:
    if not isinstance(rows, list):
        problems.append(_problem(where, name, f"must be written as [[{name}]]"))
        return []
    out = []
    for n, row in enumerate(rows, 1):
        try:
            out.append(msgspec.convert(row, kind))
        except msgspec.ValidationError as err:
            problems.append(_problem(where, f"{name} {n}", f"cannot be used: {err}"))
    return out


def _problem(where: str, what: str, text: str) -> Problem:
    return Problem(code="faults.table", text=f"{where}: {what} {text}", where=what, do="correct the table")


def _values(where: str, causes: list[Cause], tests: list[TableTest]) -> list[Problem]:
    out = []
    names = [c.name for c in causes]
    if not causes:
        out.append(
            _problem(where, "cause", "is missing: a table needs at least one [[cause]] with name and p")
        )
    out += [
        _problem(where, f"cause {n}", "stands twice")
        for n in sorted({n for n in names if names.count(n) > 1})
    ]
    for c in causes:
        if not 0 <= c.p <= 1:
            out.append(_problem(where, f"cause {c.name}", f"has p = {c.p:g}, which is no chance (0 to 1)"))
    if causes and not sum(c.p for c in causes) > 0:
        out.append(_problem(where, "cause", "chances are all zero, so nothing can be weighed"))
    for t in tests:
        if t.cause not in names:
            out.append(
                _problem(where, f"test {t.name}", f"is for {t.cause!r}, which is no cause; there are {names}")
            )
        if not t.minutes > 0:
            out.append(_problem(where, f"test {t.name}", f"takes {t.minutes:g} minutes; it must take some"))
        for key in ("sensitivity", "specificity"):
            if not 0 <= getattr(t, key) <= 1:
                out.append(
                    _problem(where, f"test {t.name}", f"has {key} {getattr(t, key):g}, outside 0 to 1")
                )
    return out
