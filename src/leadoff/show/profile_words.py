"""A profile in words: what memory has to do behind second levels of several sizes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.quantity import Quantity
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import number


def profile(data: Mapping[str, Any], out: Console) -> None:
    """The file first, then one row for each second level."""
    heading(out, f"{data['name']}: kept in {data['file']}", f"{data['references']} references counted")
    out.print(
        hang(
            Text("  "), f"behind a first level of {data['first_level']}; second levels in one way", out.width
        )
    )
    rows = [
        (
            f"{row['l2_kb']} KB" if row["l2_kb"] else "no second level",
            f"{100 * row['l2_hit'].value:.1f} %",
            _rate(row["fills_memory"]),
            _rate(row["written_back"]),
            f"{100 * row['page_miss'].value:.0f} %",
        )
        for row in data["behind"]
    ]
    columns = ("second level", "line reads served", "from memory per 1000", "written back", "page misses")
    grid(out, columns, rows, first_bold=True)
    near = data["nearest"][0]
    factor = math.exp(near["apart"])
    out.print(
        hang(
            Text("  "),
            f"of the shipped families {near['family']} is nearest, a factor {factor:.2g} apart",
            out.width,
        )
    )


def _rate(q: Quantity) -> str:
    middle = _short(q.value)
    return middle if q.lo is None or q.hi is None else f"{middle} ({_short(q.lo)} to {_short(q.hi)})"


def _short(value: float | None) -> str:
    return number(value if value is None or value < 100 else round(value), 2 if (value or 0) < 10 else 3)
