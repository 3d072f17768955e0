"""Walk a TOML table by hand and collect every mistake, each with its path and what was allowed."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

from leadoff.record.errors import Problem
from leadoff.words.vocabulary import likeness

T = TypeVar("T")
UNKNOWN = ("?", "unknown")

_PRINTED = 1e15
"""Numbers up to this size are printed whole; beyond it the text of the file is shortened."""


class Walk:
    """One table of a file being read. Reading a key marks it as known; ``done`` reports the rest."""

    def __init__(self, table: Mapping[str, Any], path: str, problems: list[Problem]) -> None:
        self.table = table
        self.path = path
        self.problems = problems
        self._known: set[str] = set()

    def wrong(self, key: str, text: str, do: str) -> None:
        """Note a mistake at ``key``."""
        where = f"{self.path}.{key}" if self.path else key
        self.problems.append(Problem(code="board_file", text=f"{where}: {text}", where=where, do=do))

    def has(self, key: str) -> bool:
        self._known.add(key)
        return key in self.table

    def raw(self, key: str) -> Any:
        self._known.add(key)
        return self.table.get(key)

    def text(self, key: str) -> str | None:
        """Text, or a number written without quotes, as the text it was; ``"?"`` is unknown."""
        text = self.as_typed(key)
        return None if text in UNKNOWN else text

    def as_typed(self, key: str) -> str | None:
        """The same, with the signs for what is not known."""
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self.wrong(key, f"is {_show(value)}, a text or number was expected", "write it in quotes")
            return None
        return str(value).strip()

    def flag(self, key: str) -> bool | None:
        value = self.raw(key)
        if value is None or isinstance(value, bool):
            return value
        if isinstance(value, str) and value.strip() in UNKNOWN:
            return None
        self.wrong(key, f"is {_show(value)}, true or false was expected", "leave the key out when unknown")
        return None

    def amount(self, key: str, unit: str, lo: float, hi: float) -> float | None:
        """A number of ``unit`` between ``lo`` and ``hi``; ``"?"`` is unknown."""
        value = self.raw(key)
        if value is None or (isinstance(value, str) and value.strip() in UNKNOWN):
            return None
        if isinstance(value, str):
            try:
                value = float(value.replace(",", "."))
            except ValueError:
                self.wrong(
                    key,
                    f"is {_show(value)}, a number of {unit} was expected",
                    'write the number alone, without a unit; "?" is unknown',
                )
                return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.wrong(key, f"is {_show(value)}, a number of {unit} was expected", 'write "?" for unknown')
            return None
        if not lo <= value <= hi:
            said = f"{value:g}" if abs(value) < _PRINTED or value != value else _show(value)
            self.wrong(
                key,
                f"is {said} {unit}; allowed is {lo:g} to {hi:g} {unit}",
                f"check the unit: the key is in {unit}",
            )
            return None
        return float(value)

    def count(self, key: str, unit: str, lo: int, hi: int) -> int | None:
        value = self.amount(key, unit, lo, hi)
        if value is None:
            return None
        if value != int(value):
            self.wrong(
                key, f"is {value:g}, a whole number of {unit} was expected", "round it or leave it out"
            )
            return None
        return int(value)

    def texts(self, key: str) -> tuple[str, ...] | None:
        """A list of texts; one text alone is taken as a list of one."""
        value = self.raw(key)
        if value is None:
            return None
        items = [value] if isinstance(value, str | int | float) else value
        if not isinstance(items, list) or any(
            isinstance(i, bool) or not isinstance(i, str | int | float) for i in items
        ):
            self.wrong(key, f"is {_show(value)}, a list of texts was expected", 'write it as ["a", "b"]')
            return None
        return tuple(str(i).strip() for i in items)

    def sub(self, key: str) -> Walk | None:
        value = self.raw(key)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            self.wrong(key, f"is {_show(value)}, a table was expected", f"write it as [{self.path}.{key}]")
            return None
        return Walk(value, f"{self.path}.{key}" if self.path else key, self.problems)

    def subs(self, key: str) -> tuple[Walk, ...]:
        """A list of tables; one table alone is taken as a list of one."""
        value = self.raw(key)
        if value is None:
            return ()
        items: Sequence[Any] = [value] if isinstance(value, Mapping) else value
        if not isinstance(items, list) or any(not isinstance(i, Mapping) for i in items):
            does = f"write a list of tables in braces, as docs/board-file.md shows, or each as [[{key}]]"
            self.wrong(key, f"is {_show(value)}, a list of tables was expected", does)
            return ()
        base = f"{self.path}.{key}" if self.path else key
        return tuple(Walk(item, f"{base}[{n}]", self.problems) for n, item in enumerate(items))

    def done(self) -> None:
        """Report keys nobody asked for, with the nearest that is allowed."""
        for key in self.table:
            if key not in self._known:
                near = difflib.get_close_matches(key, self._known, n=1, cutoff=likeness("key"))
                hint = f'did you mean "{near[0]}"?' if near else f"allowed here: {listed(self._known)}"
                self.wrong(key, "is not a key of a board file", hint)


def listed(words: Iterable[str]) -> str:
    """Words in one order, for messages."""
    return ", ".join(sorted(words))


def _show(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def first(sides: tuple[Walk, ...], key: str, read: Callable[[Walk, str], T | None]) -> T | None:
    """The value of a key that may stand at the top, under [board] or under [fitted]."""
    values = [read(side, key) for side in sides]
    return next((v for v in values if v is not None), None)
