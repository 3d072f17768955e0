"""A file's tables as cells of text with their places."""

from __future__ import annotations

import unicodedata

import msgspec

MOST_LETTERS = 400
"""A cell's text is cut here; nobody wrote a result that long."""
_ODD = frozenset(("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"))


class Cell(msgspec.Struct, frozen=True):
    """What a cell shows, as text. ``day`` is set (YYYY-MM-DD) when the file itself says that it holds a date.

    ``spread`` marks a cell filled in from a merged one above or beside it; ``clock`` one that the spreadsheet holds
    as a time of day, which is what becomes of 3:20 typed for minutes and seconds.
    """

    text: str
    day: str = ""
    spread: bool = False
    clock: bool = False


BLANK = Cell("")


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """One sheet, or the lines of a text file. ``first`` is the number of its first row as people count."""

    name: str
    rows: tuple[tuple[Cell, ...], ...]
    first: int = 1

    def place(self, row: int, column: int | None = None) -> str:
        """Such as ``Runs!C7``, ``Runs row 7``, ``line 7``."""
        number = row + self.first
        if column is None:
            return f"{self.name} row {number}".strip() if self.name else f"line {number}"
        return f"{self.name}!{letters(column)}{number}" if self.name else f"line {number}, {letters(column)}"


class Opened(msgspec.Struct, frozen=True, kw_only=True):
    """A file taken apart: its tables, or free ``notes`` where it has no columns; how its text was decoded."""

    tables: tuple[Table, ...] = ()
    notes: Table | None = None
    coding: str = ""
    warnings: tuple[str, ...] = ()


def clean(text: str) -> str:
    """A cell's text as one line without control characters, cut to a length that words can have."""
    if text.isascii() and text.isprintable():  # most cells, and all blank lines
        return " ".join(text[: 4 * MOST_LETTERS].split())[:MOST_LETTERS]
    plain = "".join(" " if unicodedata.category(c) in _ODD else c for c in text[: 4 * MOST_LETTERS])
    return " ".join(plain.split())[:MOST_LETTERS]


def letters(column: int) -> str:
    """0 is A, 26 is AA."""
    out = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        out = chr(65 + rest) + out
    return out
