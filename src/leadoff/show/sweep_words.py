"""A sweep in words: one row for each level, then what disagrees."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.quantity import Quantity
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import chance, minutes, number


def sweep(data: Mapping[str, Any], out: Console) -> None:
    """Levels, fastest first."""
    heading(
        out,
        f"{data['board']}: {data['kind']} sweep",
        f"{len(data['levels'])} levels ({chance(data['sure'])})",
    )
    rows = [
        (
            _size(level["size_kb"]),
            _value(level["ns_per_line"]),
            _value(level["bus_clocks_per_line"]),
            _bounds(level["fill_bus_clocks"]),
            _value(level["mb_per_s"]),
            " ".join(level["patterns"][:4]) or "-",
        )
        for level in data["levels"]
    ]
    columns = ("up to", "ns a line", "bus clocks a line", "of these the fill", "MB/s", "patterns that fit")
    grid(out, columns, rows, first_bold=True)
    for d in data["disputes"]:
        out.print(f"  [bold]{d['setting']}[/bold]: declared {d['declared']}, seen {d['seen']}")
        for h in d["hypotheses"]:
            head = Text(f"    {chance(h['p'])} ")
            out.print(hang(head, f"{h['name']}: {h['check']} ({minutes(h['minutes'])})", out.width))


def _size(q: Quantity) -> str:
    return "the end" if q.value is None else f"{number(q.value)} KB"


def _value(q: Quantity) -> str:
    return "-" if q.value is None else number(q.value, 3)


def _bounds(q: Quantity) -> str:
    return "-" if q.lo is None or q.hi is None else f"{number(q.lo, 3)} to {number(q.hi, 3)}"
