"""Sweeps as people have them: pasted columns, CSV, typed pairs. Every interpretation is said."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import msgspec

from leadoff.memory.sweep_values import Point, Sweep, SweepKind
from leadoff.record.errors import LeadoffError, Problem
from leadoff.words import number, quantity

UNITS = {
    "us/kb": "us/KB", "µs/kb": "us/KB", "μs/kb": "us/KB", "usec/kb": "us/KB", "us per kb": "us/KB", "us/kib": "us/KB",
    "ns/kb": "ns/KB", "ms/kb": "ms/KB", "mb/s": "MB/s", "mbyte/s": "MB/s", "mb/sec": "MB/s", "mib/s": "MiB/s",
    "kb/s": "KB/s", "kib/s": "KiB/s", "ns/line": "ns/line", "ns per line": "ns/line",
}  # fmt: skip
TIMES = frozenset(("us/KB", "ns/KB", "ms/KB", "ns/line"))
SIZES = {
    "b": 1 / 1024, "byte": 1 / 1024, "bytes": 1 / 1024, "k": 1.0, "kb": 1.0, "kib": 1.0,
    "m": 1024.0, "mb": 1024.0, "mib": 1024.0,
}  # fmt: skip
_UNIT = re.compile("|".join(sorted(map(re.escape, UNITS), key=len, reverse=True)))
_FIGURE = r"[+-]?\d[\d.,' ]*"
_PAIR = re.compile(
    rf"\s*(?P<size>{_FIGURE}?)\s*(?P<unit>bytes|byte|[kmKM](?:i?[bB])?|[bB])?\s*(?:[:=|;\t,]|\s)\s*(?P<rest>\S.*?)\s*"
)
_VALUE = re.compile(rf"(?P<value>{_FIGURE}?)\s*(?P<unit>[a-zA-Zµμ].*)?")
MAX_LINES = 10000


class Row(msgspec.Struct, frozen=True):
    """A line cut into its size and its values, as text."""

    line: int
    text: str
    size: str
    size_unit: str
    values: tuple[str, ...]


def parse_sweep(
    text: str, *, unit: str | None = None, kind: str | None = None, line_bytes: int = 16
) -> Sweep:
    """The one sweep in ``text``; raises LeadoffError when there are several columns (see ``parse_sweeps``)."""
    found = parse_sweeps(text, unit=unit, kind=kind, line_bytes=line_bytes)
    if len(found) > 1:
        kinds = ", ".join(s.kind.value for s in found)
        raise LeadoffError.one(
            "sweep_columns",
            f"{len(found)} columns of values ({kinds}), one was expected",
            do="name the column",
        )
    return found[0]


def parse_sweeps(
    text: str, *, unit: str | None = None, kind: str | None = None, line_bytes: int = 16
) -> tuple[Sweep, ...]:
    """Every sweep in ``text``: sizes in the first column, a value column each for read, write, copy.

    Sizes are KB of 1024 bytes unless a unit or the heading says otherwise; values need a unit: with the figure, in
    the heading, or as ``unit`` (us/KB, ns/KB, MB/s of 10^6, MiB/s of 2^20 bytes, ns/line). The one unit that stands
    with any figure of a column counts for its bare ones too, and that is said. A decimal comma is understood
    where the columns are not parted by commas. Raises LeadoffError with the line for what cannot be read, for a
    missing unit, for a bare figure after two different units, and for values that run against their unit.
    """
    said: list[str] = []
    heading, rows = _rows(text)
    units, kinds = _heading(heading)
    if unit is not None:
        units = [_unit_name(unit)]
    width = max(len(r.values) for r in rows)
    ragged = [r for r in rows if len(r.values) != width]
    if ragged:
        raise _bad(ragged[0], f"{len(ragged[0].values)} values where other lines have {width}")
    size_unit = _heading_size(heading)
    out = []
    for column in range(width):
        own_unit = units[column] if column < len(units) else (units[0] if units else None)
        own_kind = kind or (kinds[column] if column < len(kinds) else None)
        if own_kind is None:
            own_kind = "read"
            said.append("taken as a read sweep: nothing said read, write or copy")
        out.append(_column(rows, column, own_unit, SweepKind(own_kind), size_unit, line_bytes, tuple(said)))
    return tuple(out)


_SPACED = re.compile(r"\d\s*(?:[kKmM]i?[bB]?|bytes)?\s+\d|[:=]")
"""A size, with its unit or without, and its value parted by a space: then a comma is a decimal one."""


def _rows(text: str) -> tuple[str, list[Row]]:
    lines = text.replace("\u00a0", " ").replace("\r", "\n").split("\n")
    if len(lines) > MAX_LINES:
        raise LeadoffError.one(
            "sweep_long", f"{len(lines)} lines: no sweep is that long", do="paste the sweep only"
        )
    kept = [
        (i + 1, line.strip())
        for i, line in enumerate(lines)
        if line.strip() and line.strip()[0] not in "#*-="
    ]
    kept = _one_line(kept)
    heading = ""
    rows: list[tuple[int, str]] = []
    for n, line in kept:
        if not line[0].isdigit():
            if rows:
                raise LeadoffError.one(
                    "sweep_line",
                    f"line {n} does not begin with a block size: {line[:60]!r}",
                    where=f"line {n}",
                    do="one block size and its values on a line, such as: 16 KB  10.5 us/KB",
                )
            heading += " " + line
            continue
        rows.append((n, line))
    if not rows:
        raise LeadoffError.one(
            "sweep_empty", "there is no block size with a value in it", do="such as: 16 KB  10.5 us/KB"
        )
    mark = next((m for m in ("\t", ";", "|") if all(m in line for _, line in rows)), None)
    if mark is None and all("," in line and not _SPACED.search(line) for _, line in rows):
        mark = ","
        counts = {line.count(",") for _, line in rows}
        columns = heading.count(",") or 1
        if counts != {columns}:
            n, line = next((n, t) for n, t in rows if t.count(",") != columns)
            raise LeadoffError.one(
                "sweep_commas",
                f"line {n}, {line!r}: commas part the columns and may be decimal commas as well",
                where=f"line {n}",
                do="part the columns by semicolons or tabs",
            )
    return heading, [_cut(n, line, mark) for n, line in rows]


def _one_line(kept: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Pairs typed on one line, words before them taken as the heading."""
    head = kept[:-1]
    if not kept or any(line[0].isdigit() for _, line in head):
        return kept
    n, line = kept[-1]
    found = re.fullmatch(r"(\D*?)[\s:]*(\d.*)", line)
    if found is None:
        return kept
    words = [(n, found[1].strip())] if found[1].strip() else []
    items = [(n, item.strip()) for item in re.split(r";\s*|,\s+", found[2]) if item.strip()]
    return [*head, *words, *items]


def _cut(n: int, line: str, mark: str | None) -> Row:
    if mark is not None:
        size, *values = (part.strip() for part in line.split(mark))
        found = re.fullmatch(rf"({_FIGURE}?)\s*([a-zA-Z]+)?", size)
        cut = Row(
            n,
            line,
            found[1] if found else size,
            (found[2] or "") if found else "",
            tuple(v for v in values if v),
        )
    else:
        found = _PAIR.fullmatch(line)
        if found is None:
            cut = Row(n, line, line, "", ())
        else:
            rest = re.split(r"\s{2,}|\t|\s*[|;]\s*", found["rest"])
            if len(rest) == 1 and re.fullmatch(r"[\d.,]+(?:\s+[\d.,]+)+", rest[0]):
                rest = rest[0].split()
            cut = Row(n, line, found["size"].strip(), found["unit"] or "", tuple(rest))
    if not cut.values:
        raise _bad(cut, "a block size without a value")
    return cut


def _column(
    rows: Sequence[Row],
    column: int,
    unit: str | None,
    kind: SweepKind,
    size_unit: str,
    line_bytes: int,
    said: tuple[str, ...],
) -> Sweep:
    points: list[Point] = []
    mixed: set[str] = set()
    carried, source = 0, ""
    everywhere = _only_unit(rows, column)
    for row in rows:
        size_kb = _size_kb(row, size_unit)
        found = _VALUE.fullmatch(row.values[column])
        if found is None:
            raise _bad(row, f"{row.values[column]!r} is no figure")
        named = _unit_name(found["unit"]) if found["unit"] else unit
        if named is None and everywhere is not None:
            named, source = everywhere
            carried += 1
        if named is None:
            raise _no_unit(row, column, mixed)
        mixed.add(named)
        points.append(
            Point(
                size_kb=size_kb, us_per_kb=_us(row, found["value"].strip(), named, line_bytes), text=row.text
            )
        )
    if carried:
        said = (*said, f"{carried} bare figures taken as {source!r} says")
    if len(mixed) > 1:
        said = (*said, f"values in {' and '.join(sorted(mixed))}, each taken by its own unit")
    points.sort(key=lambda p: p.size_kb)
    merged = _merge(points)
    if len(merged) < len(points):
        said = (*said, f"{len(points) - len(merged)} repeated sizes averaged")
    if len(mixed) == 1:
        _direction(merged, next(iter(mixed)))
    return Sweep(kind=kind, points=tuple(merged), said=said)


def _only_unit(rows: Sequence[Row], column: int) -> tuple[str, str] | None:
    """The one unit that figures of a column name, with the line that names it first; None for none or several."""
    named: dict[str, str] = {}
    for row in rows:
        found = _VALUE.fullmatch(row.values[column])
        if found is not None and found["unit"]:
            named.setdefault(_unit_name(found["unit"]), row.text)
    return next(iter(named.items())) if len(named) == 1 else None


def _size_kb(row: Row, heading_unit: str) -> float:
    unit = (row.size_unit or heading_unit or "kb").lower()
    if unit not in SIZES:
        raise _bad(row, f"{row.size_unit} is no unit of a block size (bytes, KB, MB)")
    size = number(row.size, comma="ask").value * SIZES[unit]
    if not 1 / 16 <= size <= 1024 * 1024:
        raise _bad(row, f"a block of {size:g} KB cannot be")
    return size


def _us(row: Row, text: str, unit: str, line_bytes: int) -> float:
    try:
        if unit == "ns/line":
            us = number(text).value / 1000.0 * 1024.0 / line_bytes
        elif unit in TIMES:
            us = quantity(f"{text} {unit}", "time_per_kb").value
        else:
            rate = quantity(f"{text} {unit}", "rate").value
            us = 1024.0 / rate if rate > 0 else math.nan
    except LeadoffError as e:
        raise LeadoffError(
            *(
                Problem(code=p.code, text=f"line {row.line}: {p.text}", where=row.text, do=p.do)
                for p in e.problems
            )
        ) from e
    if not (math.isfinite(us) and us > 0):
        raise _bad(row, f"{text} {unit} is no time that passed: a block takes more than nothing")
    return us


def _merge(points: Sequence[Point]) -> list[Point]:
    out: list[Point] = []
    for p in points:
        if out and out[-1].size_kb == p.size_kb:
            n = out[-1].repeats
            mean = math.exp((n * math.log(out[-1].us_per_kb) + math.log(p.us_per_kb)) / (n + 1))
            out[-1] = msgspec.structs.replace(out[-1], us_per_kb=mean, repeats=n + 1)
        else:
            out.append(p)
    return out


def _direction(points: Sequence[Point], unit: str) -> None:
    """Larger blocks are never much faster: such values are in the other sort of unit."""
    if len(points) >= 3 and points[-1].us_per_kb < points[0].us_per_kb / 1.25:
        other = "MB/s" if unit in TIMES else "us/KB"
        raise LeadoffError.one(
            "sweep_direction",
            f"read as {unit}, a block of {points[-1].size_kb:g} KB is faster than one of {points[0].size_kb:g} KB: "
            "no cache does that, so the unit is likely another",
            where=unit,
            do=f"are they {other}?",
        )


def _heading(text: str) -> tuple[list[str], list[str]]:
    low = text.lower()
    units = [UNITS[u] for u in _UNIT.findall(low)]
    return units, re.findall(r"read|write|copy", low)


def _heading_size(text: str) -> str:
    found = re.search(r"(?:size|block)\D{0,3}?[\s(\[/]*(bytes|kib|kb|mib|mb)\b(?!/)", text.lower())
    return found[1] if found else ""


def _unit_name(text: str) -> str:
    name = UNITS.get(" ".join(text.strip().lower().split()))
    if name is None:
        do = "known: us/KB, ns/KB, ms/KB, MB/s, MiB/s, KB/s, KiB/s, ns/line"
        if re.search(r"\s\d", text.strip()):
            do += "; pairs on one line are parted by commas or semicolons: 8K 10.2us/KB, 16K 10.3"
        raise LeadoffError.one("sweep_unit", f"{text.strip()!r} is no unit of a sweep", where=text, do=do)
    return name


def _no_unit(row: Row, column: int, before: set[str]) -> LeadoffError:
    if before:
        return LeadoffError.one(
            "sweep_unit",
            f"{row.values[column]!r} has no unit, and the figures before it have {' and '.join(sorted(before))}",
            where=row.text,
            do="say the unit behind each figure",
        )
    return LeadoffError.one(
        "sweep_unit",
        f"no unit was given for {row.values[column]!r}: it can be a time per KB, a time per line or a rate",
        where=row.text,
        do="say us/KB, MB/s or ns/line in the first line or behind the figures",
    )


def _bad(row: Row, what: str) -> LeadoffError:
    return LeadoffError.one(
        "sweep_line",
        f"line {row.line}, {row.text[:60]!r}: {what}",
        where=f"line {row.line}",
        do="one block size and its values on a line, such as: 16 KB  10.5 us/KB",
    )
