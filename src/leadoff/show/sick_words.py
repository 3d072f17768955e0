"""An ailing board in words: what to do next first, then why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang, heading
from leadoff.show.text import chance, minutes, number

LIKELY = 0.3
"""A repair is printed from this chance on; before, the tests come first (the JSON has it always)."""

MODES = {"several": "several faults possible", "exactly_one": "exactly one fault"}


def sick(data: Mapping[str, Any], out: Console) -> None:
    """Tests, causes, repair, what to save first."""
    heading(out, data["board"], data["understood"])
    for guard in data["save_first"]:
        out.print(
            hang(Text("  save first: ", style="bold yellow"), f"{guard['what']} ({guard['why']})", out.width)
        )
    for text in data["look_first"]:
        out.print(hang(Text("  look first: ", style="bold"), text, out.width))
    for n, test in enumerate(data["tests"], start=1):
        _test(n, test, out)
    if data["stop"]:
        out.print(hang(Text("  "), data["stop"], out.width))
    _causes(data["explanations"], data["mode"], out)
    if data["repair"] is not None and data["repair"]["p_cause"] >= LIKELY:
        _repair(data["repair"], out)
    for c in data["contradictions"]:
        out.print(hang(Text("  do not go together: ", style="yellow"), c["text"], out.width))
    for b in data["blocked"][:2]:
        out.print(hang(Text(f"  not proposed: {b['test']}: ", style="dim"), b["why"], out.width))
    for s in data["open_symptoms"]:
        accept = f"; closed by: {', '.join(s['accept'])}" if s["accept"] else ""
        out.print(hang(Text("  open: "), f"{s['name']}: {s['outcome'].replace('_', ' ')}{accept}", out.width))


def _test(n: int, test: Mapping[str, Any], out: Console) -> None:
    how = f": {test['how']}" if test["how"] else ""
    text = f"{test['name']} ({minutes(test['minutes'])}, worth {number(test['worth_per_minute'], 2)} a minute){how}"
    out.print(hang(Text(f"  {n}. ", style="bold"), text, out.width))
    if test["needs"]:
        out.print(hang(Text("     only after: "), ", ".join(test["needs"]), out.width))
    if test["expect"]:
        out.print(hang(Text("     expect: ", style="dim"), test["expect"], out.width))
    for caution in test["cautions"]:
        style = "bold red" if caution["severity"] >= 3 else "yellow"
        out.print(hang(Text("     care: ", style=style), caution["text"], out.width))


def _causes(causes: Sequence[Mapping[str, Any]], mode: str, out: Console) -> None:
    out.print(f"  [dim]chance that curing this one makes it right ({MODES.get(mode, mode)})[/dim]")
    for cause in causes[:5]:
        head = Text(f"    {chance(cause['p_cause']):>9}  ")
        out.print(hang(head, cause["name"], out.width))


def _repair(repair: Mapping[str, Any], out: Console) -> None:
    text = f"{repair['action']} ({minutes(repair['minutes'])}, works with {chance(repair['success'])})"
    out.print(hang(Text("  repair: ", style="bold"), text, out.width))
    if not repair["reversible"]:
        out.print(
            hang(
                Text("    cannot be undone: ", style="yellow"),
                ", ".join(repair["undone"]) or "this",
                out.width,
            )
        )
    if repair["accept"]:
        out.print(hang(Text("    accepted when: "), "; ".join(repair["accept"]), out.width))
    if repair["retest"]:
        out.print(hang(Text("    see again: "), "; ".join(repair["retest"]), out.width))
