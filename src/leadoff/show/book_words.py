"""What the book's own verbs answer, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.markup import escape

from leadoff.record.counted import counted


def book(data: Mapping[str, Any], out: Console) -> None:
    """One line for each thing done."""
    if "faults" in data:
        pens = len(data["pens"])
        out.print(
            f"[bold]{counted(data['entries'], 'entry', 'entries')} of {counted(pens, 'pen')}, "
            f"{data['checked']} checked, {data['redacted']} redacted, {len(data['faults'])} damaged[/bold]"
        )
    elif "backup" in data:
        out.print(f"backup written: {escape(data['backup'])}")
    elif "exported" in data:
        out.print(f"{data['entries']} entries written to {escape(data['exported'])}")
    elif "added" in data:
        out.print(
            f"{len(data['added'])} entries taken in, {data['already']} were here, "
            f"{len(data['dropped'])} bodies removed by a redaction, {data['files']} files"
        )
    elif "redacted" in data:
        out.print(f"removed for good: the body of {data['kind']} {data['redacted'][:12]}")
    elif "mended" in data:
        out.print(f"{data['entries']} entries read, {data['mended']} columns set right")
