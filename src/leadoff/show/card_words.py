"""The card in words: the verdicts first, then patterns, then what to do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.board_words import clocks_line, moves_words
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import chance, number, sourced

_STYLE = {"red": "bold red", "amber": "yellow", "green": "green", "note": "dim"}


def card(data: Mapping[str, Any], out: Console) -> None:
    """Lines, patterns, cacheable range, moves."""
    heading(out, f"{data['board'] or 'figures alone'}: card")
    if data["clocks"]:
        clocks_line(data["clocks"], out)
    for line in data["lines"]:
        head = Text(f"  {line['verdict'].upper():6}", style=_STYLE[line["verdict"]])
        head.append(f"{line['topic'].replace('_', ' '):14}", style="default")
        out.print(hang(head, line["why"], out.width))
        if line["caution"]:
            out.print(hang(Text(" " * 22), line["caution"], out.width))
    _patterns(data["patterns"], out)
    out.print(f"  cacheable range: {sourced(data['cacheable_mb'])}")
    for text in data["timing_notes"]:
        out.print(hang(Text("  note: ", style="dim"), text, out.width))
    if data["moves"]:
        out.print("  to get there:")
        moves_words(data["moves"], out, "    ")


def _patterns(patterns: list[Mapping[str, Any]], out: Console) -> None:
    if not patterns:
        return
    rows = []
    for p in patterns:
        inside = {True: "yes", False: "no"}.get(p["inside_max"], str(p["inside_max"]))
        slack = p["slack_ns"]
        rows.append(
            (
                p["kind"],
                p["pattern"],
                inside + (", marginal" if p["marginal"] else ""),
                f"{number(slack.value, 3)} ({number(slack.lo, 3)} to {number(slack.hi, 3)})",
                chance(p["chance_hold"].value),
                p["binding"],
            )
        )
    grid(out, ("cycle", "pattern", "inside maxima", "slack ns", "to hold", "binding"), rows)
