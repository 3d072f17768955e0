"""What now, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.board_words import moves_words
from leadoff.show.terminal import hang
from leadoff.show.text import band, chance, minutes, number


def now(data: Mapping[str, Any], out: Console) -> None:
    """The acts in order of worth per minute; the first one with its moves."""
    out.print(f"[bold]{data['board']}: what now[/bold]")
    if not data["acts"]:
        out.print("  nothing on the sheet promises more than what was measured")
    for number_, act in enumerate(data["acts"]):
        p = act["predicted"]
        head = Text(f"  {number_ + 1}. ", style="bold")
        score = ""
        if p is not None and p["median"] is not None:
            score = f"{p['workload']} {number(p['median'])} {p['unit']} ({band(p['band90'])}), "
        text = (
            f"{act['what']}: {score}holds with {chance(act['chance_hold'].value)}, "
            f"{minutes(act['minutes'])}. {act['why']}"
        )
        out.print(hang(head, text, out.width))
        for caution in act["cautions"]:
            out.print(hang(Text("     care: ", style="yellow"), caution, out.width))
        if number_ == 0:
            moves_words(act["moves"], out, "     ")
    if data["stop"]:
        out.print(hang(Text("  when to stop: "), data["stop"], out.width))
