"""What was published, in words: the files, then what stands beside the score."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang, heading


def publish(data: Mapping[str, Any], out: Console) -> None:
    """Files with the start of their digests, limits, and the head that leaves the house with them."""
    heading(out, f"{data['board']} is published", f"head of the book {data['head']}")
    for f in data["files"]:
        out.print(Text(f"  {f['sha256'][:12]}  {f['path']}"), soft_wrap=True)
    for v in data["limits"]:
        out.print(hang(Text("  limit: ", style="yellow"), v["text"], out.width))
    if data["withheld"]:
        text = f"{data['withheld']} entries are there by their hash only, because their words may be private"
        out.print(hang(Text("  held back: ", style="dim"), text, out.width))
