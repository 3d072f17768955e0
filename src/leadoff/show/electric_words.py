"""Electrical figures in words: the results, what they mean, where the rule comes from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang, heading
from leadoff.show.text import number


def electric(data: Mapping[str, Any], out: Console) -> None:
    """One topic."""
    heading(out, data["topic"], data["what"])
    taken = [
        f"{g['key'].replace('to_', 'to ')} {_value(g['value'])} {_unit(g['unit'])}".strip()
        for g in data["given"]
        if g["assumed"]
    ]
    for result in data["results"]:
        q = result["value"]
        out.print(hang(Text(f"  {result['name']}: "), f"{number(q['value'], 3)} {q['unit']}", out.width))
    for text in data["says"]:
        out.print(hang(Text("  "), text, out.width))
    if taken:
        out.print(hang(Text("  taken, as you did not say: ", style="dim"), ", ".join(taken), out.width))
    out.print(hang(Text("  from: ", style="dim"), data["source"], out.width))


def _value(value: Any) -> str:
    return number(value, 4) if isinstance(value, (int, float)) else str(value)


def _unit(unit: str) -> str:
    return {"v": "V", "a": "A", "w": "W", "c": "C", "pct": "%", "word": "", "mah": "mAh", "ma": "mA"}.get(
        unit, unit
    )
