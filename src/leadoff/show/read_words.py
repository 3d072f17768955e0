"""What files said, in one screenful: each file in a few lines, then what it would add and what is in doubt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from leadoff.show.terminal import hang, heading
from leadoff.show.text import chance, minutes

MOST_QUARANTINED = 5
MOST_HYPOTHESES = 3


def read(data: Mapping[str, Any], out: Console) -> None:
    """Files, questions, what would be added."""
    if data.get("shown"):
        out.print("nothing was added")
        return
    for file in data["files"]:
        heading(out, file["file"], file["title"])
        for line in file["lines"]:
            out.print(hang(Text("  "), line, out.width))
    for q in data["questions"]:
        out.print(hang(Text("  question ", style="bold"), f"{q['text']} ({q['places']} places)", out.width))
        for c in q["choices"]:
            out.print(hang(Text(f"    --answer {q['id']}={c['key']}  "), c["text"], out.width))
    held = data["quarantined"]
    for item in held[:MOST_QUARANTINED]:
        head = Text("  not taken ", style="yellow")
        out.print(hang(head, f"{item['at']}: {item['text']!r}: {item['why']}", out.width))
    if len(held) > MOST_QUARANTINED:
        out.print(
            f"  [dim]and {len(held) - MOST_QUARANTINED} more that are not taken (--json lists them)[/dim]"
        )
    conflicts(data["conflicts"], out)
    _added(data, out)


def conflicts(found: Sequence[Mapping[str, Any]], out: Console) -> None:
    """What sources disagree about, from what it can come, and the check that would decide."""
    for c in found:
        word = "text only" if c["cosmetic"] else "disputed"
        out.print(hang(Text(f"{word}  ", style="bold"), f"{c['text']} [{c['rank']}]", out.width))
        for n, h in enumerate(c["hypotheses"][:MOST_HYPOTHESES]):
            head = Text(f"    {chance(h['p']):>9}  ", style="" if n else "bold")
            line = f"{h['name']}. Check: {h['check']} ({minutes(h['minutes'])})"
            out.print(hang(head, line, out.width))


def _added(data: Mapping[str, Any], out: Console) -> None:
    board = escape(str(data["board"] or "the book"))
    known = f", {data['already']} are there already" if data["already"] else ""
    if data["added"]:
        several = len(data["entries"]) > 1
        back = (
            "leadoff undo takes all of it back, undo ID one of it"
            if several
            else "leadoff undo takes it back"
        )
        out.print(f"[bold]added {data['added']} to {board}[/bold]{known}; {back}")
    elif data["would_add"] and data["board"]:
        out.print(f"[bold]would add {data['would_add']} to {board}[/bold]{known}")
