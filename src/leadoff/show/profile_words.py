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


def profiles(data: Mapping[str, Any], out: Console) -> None:
    """One row for each quantity, one column for each family left out."""
    heading(out, "shipped profiles", f"{len(data['families'])} families")
    for family in data["families"]:
        out.print(
            hang(
                Text(f"  {family['name']}: "),
                f"{family['references']} references, {family['made']}",
                out.width,
            )
        )
    out.print(hang(Text("  assumed in carrying them over: "), data["made_with"]["assumed"], out.width))
    out.print(
        hang(
            Text("  "),
            "each family foretold from the others, by which factor the middle geometry is missed (* more than the "
            "prior's own spread):",
            out.width,
        )
    )
    names = [f["name"] for f in data["families"]]
    by_place = {(e["family"], e["quantity"]): e for e in data["left_out"]}
    rows = []
    for quantity, winner in data["winners"].items():
        cells = [by_place[name, quantity] for name in names]
        shown = [f"{c['middle_factor']:.2f}" + ("*" if c["prior_wins"] else "") for c in cells]
        rows.append((quantity, *shown, f"{cells[0]['prior_factor']:.2f}", winner))
    grid(out, ("quantity", *names, "prior", "better"), rows, first_bold=True)
