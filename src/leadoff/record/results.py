"""One result for every verb: the JSON contract, as a value. No arithmetic and no layout here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

import msgspec

from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.marks import Level, Mark


class Result(msgspec.Struct, frozen=True, kw_only=True):
    """What a verb answers. ``data`` holds plain values, quantities and other frozen values of the house."""

    leadoff: int = 1
    verb: str
    ok: bool = True
    head: str | None = None
    data: Mapping[str, Any] = {}
    marks: tuple[Mark, ...] = ()
    errors: tuple[Problem, ...] = ()

    def json(self) -> bytes:
        """The contract's line."""
        return msgspec.json.encode(self, enc_hook=_plain)


def failed(verb: str, error: LeadoffError, *, head: str | None = None) -> Result:
    """The user's case: everything wrong, listed."""
    return Result(verb=verb, ok=False, head=head, errors=error.problems)


def mark(level: Level, code: str, text: str, *refs: str) -> Mark:
    """Short form."""
    return Mark(level=level, code=code, text=text, refs=refs)


def note(code: str, text: str, *refs: str) -> Mark:
    """A mark that informs."""
    return mark(Level.NOTE, code, text, *refs)


def worst(marks: Iterable[Mark]) -> Level | None:
    """The gravest level among marks."""
    order = list(Level)
    return min((m.level for m in marks), key=order.index, default=None)


def _plain(value: object) -> Any:
    if isinstance(value, Fraction):
        return float(value)
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, frozenset | set):
        return sorted(value)
    raise NotImplementedError(f"{type(value).__name__} has no JSON form")
