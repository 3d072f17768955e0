"""Checked sentences in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang

LOOKS = {
    "supported": ("supported", "green"),
    "within_noise": ("within the noise", "yellow"),
    "not_comparable": ("not comparable", "yellow"),
    "untested": ("untested", "yellow"),
    "contradicted": ("contradicted", "bold red"),
    "not_found": ("not found", "bold red"),
    "not_placed": ("not placed", "dim"),
}
MOST_REFS = 12


def claim(data: Mapping[str, Any], out: Console) -> None:
    """Each sentence under its verdict, what it rests on, what would be true, and what is open."""
    for s in data["sentences"]:
        name, style = LOOKS[s["verdict"]]
        out.print(hang(Text(f"{name}: ", style=style), s["text"], out.width))
        if s["why"]:
            out.print(hang(Text("  because: ", style="dim"), s["why"], out.width))
        if s["refs"]:
            refs = ", ".join(s["refs"][:MOST_REFS]) + (" ..." if len(s["refs"]) > MOST_REFS else "")
            out.print(hang(Text("  rests on: ", style="dim"), refs, out.width))
        if s["would_be_true"] and s["would_be_true"] != s["why"]:
            out.print(hang(Text("  would be true: ", style="bold"), s["would_be_true"], out.width))
    for s in data["open_symptoms"]:
        text = f"{s['board']}: {s['finding']}" + (f", {s['detail']}" if s["detail"] else "")
        out.print(hang(Text("  still open: ", style="yellow"), text, out.width))
