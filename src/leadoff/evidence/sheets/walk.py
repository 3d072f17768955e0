"""Walks the rows of a table: titles, headings (again and again), data, totals, footnotes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import msgspec

from leadoff.evidence.sheets.days import day_of
from leadoff.evidence.sheets.heads import Head, heads_of, is_heading
from leadoff.evidence.sheets.row import Row
from leadoff.evidence.sheets.table import Cell, Table

TOTALS = re.compile(
    r"^(?:grand |sub ?)?(?:totals?|sums?|average|avg\.?|mean|median|max(?:imum)?|min(?:imum)?|best|worst|count|"
    r"std\.? ?dev\.?|stdev)\b\s*[:=]?",
    re.I,
)
FOOTNOTE = re.compile(r"^\s*(\*{1,3}|†|‡|[¹²³]|\((?:\*|\d|[a-d])\)|\^\d)\s*[:=-]?\s*(\S.*)$")


class Walked(msgspec.Struct, frozen=True, kw_only=True):
    """What a table holds: data rows, footnotes by their mark, and rows left out with the reason."""

    rows: tuple[Row, ...]
    footnotes: dict[str, str]
    totals: int
    headings: int
    stray: tuple[tuple[str, str], ...]


def walk(table: Table, workloads: Sequence[str], board: str) -> Walked:
    """Sort the rows of a table. Rows before any heading are titles, unless a date begins them: those are stray."""
    heads: tuple[Head, ...] | None = None
    rows: list[Row] = []
    footnotes: dict[str, str] = {}
    stray: list[tuple[str, str]] = []
    above, totals, headings = "", 0, 0
    for begin, block in _blocks(table, workloads):
        if len(block) > 1 or is_heading(block[0], workloads):
            heads, above = tuple(heads_of(block, workloads)), ""
            headings += 1
            continue
        row = block[0]
        filled = [c for c in row if c.text]
        place = table.place(begin)
        own = list(dict.fromkeys(c.text for c in filled))
        if len(own) == 1 and not (filled[0].day or day_of(own[0])):
            if note := FOOTNOTE.match(own[0]):
                footnotes[note[1].strip("()^")] = note[2].strip()
            elif heads is not None:
                above = own[0]
            continue
        if any(TOTALS.match(c.text) for c in filled[:2]):
            totals += 1
            continue
        if heads is None:
            if filled[0].day or day_of(filled[0].text):
                stray.append((" | ".join(own), place))
            continue
        if sum(1 for c in row[len(heads) :] if c.text):
            stray.append((" | ".join(c.text for c in filled), place))
            continue
        places = tuple(table.place(begin, n) for n in range(len(row)))
        rows.append(Row(cells=row, heads=heads, places=places, place=place, above=above, board=board))
    return Walked(rows=tuple(rows), footnotes=footnotes, totals=totals, headings=headings, stray=tuple(stray))


def _blocks(table: Table, workloads: Sequence[str]) -> Iterator[tuple[int, list[tuple[Cell, ...]]]]:
    """Rows one by one, neighbouring heading rows together; blank rows are passed over."""
    n = 0
    while n < len(table.rows):
        row = table.rows[n]
        if not any(c.text for c in row):
            n += 1
            continue
        block = [row]
        if _head_like(row, table.rows[n + 1 : n + 3], workloads):
            while n + len(block) < len(table.rows) and is_heading(table.rows[n + len(block)], workloads):
                block.append(table.rows[n + len(block)])
        yield n, block
        n += len(block)


def _head_like(row: Sequence[Cell], following: Sequence[Sequence[Cell]], workloads: Sequence[str]) -> bool:
    """A heading, or a row of group words right above one."""
    if is_heading(row, workloads):
        return True
    filled = [c for c in row if c.text]
    plain = len({c.text for c in filled}) >= 2 and not any(
        c.day or day_of(c.text) or re.search(r"\d[.,]\d|^\d+$", c.text) for c in filled
    )
    return plain and bool(following) and is_heading(following[0], workloads)
