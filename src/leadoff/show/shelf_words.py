"""The shelf in words: one line for each board, then what one order unlocks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang, heading


def shelf(data: Mapping[str, Any], out: Console) -> None:
    """Boards with place, age, what they wait for and what is due; then the orders."""
    if not data["boards"]:
        out.print("  no board yet")
    for b in data["boards"]:
        heading(out, b["board"], f"{b['class']}; {b['place'] or 'place not said'}")
        rows = [
            ("waits for", ", ".join(b["waits_for"])),
            ("made on or after", b["not_before"] or ""),
            ("replaced later", ", ".join(b["replaced_later"])),
            ("decade not printed", ", ".join(b["decade_not_printed"])),
            ("clock", b["clock"]),
            ("firmware", b["firmware"]),
            ("open", ", ".join(b["open_symptoms"])),
        ]
        for name, text in rows:
            if text:
                out.print(hang(Text(f"  {name}: ", style="dim"), text, out.width))
    for o in data["orders"]:
        text = f"unlocks {', '.join(o['unlocks'])}" if o["unlocks"] else "unlocks none by itself"
        text += f"; helps {', '.join(o['helps'])}" if o["helps"] else ""
        out.print(hang(Text(f"  order {o['part']}: ", style="bold"), text, out.width))
