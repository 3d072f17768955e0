"""Substitutes in words: the verdict first, then what it hangs on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang, heading
from leadoff.show.text import minutes, number

VERDICTS = {"ok": ("yes", "bold green"), "part": ("only if", "bold yellow"), "no": ("no", "bold red")}


def substitute(data: Mapping[str, Any], out: Console) -> None:
    """Every row that fits, then the ways to do it side by side."""
    asked = " for ".join(x for x in (data["have"], data["want"]) if x)
    heading(out, f"substitutes: {data['kind'].replace('_', ' ')}", asked)
    for row in data["rows"]:
        _row(row, out)
    if data["ways"]:
        out.print("  [bold]ways to do it[/bold]")
    for way in data["ways"]:
        _way(way, out)


def _row(row: Mapping[str, Any], out: Console) -> None:
    word, style = VERDICTS[row["verdict"]]
    text = f"{row['have']}, in place of {row['want']}"
    out.print(hang(Text(f"  {word}: ", style=style), text, out.width))
    for head, key in (
        ("only if: ", "condition"),
        ("because: ", "why"),
        ("shown by: ", "test"),
        ("not known: ", "unknown"),
        ("from: ", "source_text"),
    ):
        if row[key]:
            out.print(hang(Text(f"     {head}", style="dim"), row[key], out.width))


def _way(way: Mapping[str, Any], out: Console) -> None:
    back = "can be undone" if way["reversible"] else "cannot be undone"
    due = f"due again about {way['due_year']}" if way["due_year"] else "no next date known"
    cost = f"about {number(way['cost'], 2)} coin cells"
    out.print(
        hang(Text("   - "), f"{way['name']}: {minutes(way['minutes'])}, {cost}, {back}, {due}", out.width)
    )
    out.print(hang(Text("     risk: ", style="yellow"), way["risk"], out.width))
