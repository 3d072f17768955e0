"""A public file in words: what it says, what was checked, how to set the same state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import band, minutes, number


def repeat(data: Mapping[str, Any], out: Console) -> None:
    """Score, limits, what came before what, moves, comparison."""
    s = data["shown"]
    heading(
        out,
        data["board"],
        "" if s is None else f"{s['workload']} {number(s['score']['value'])} {s['unit']}; {s['words']}",
    )
    for v in data["limits"]:
        out.print(hang(Text("  limit: ", style="yellow"), v["text"], out.width))
    rows = [_told(f, w) for f in data["forecasts"] for w in _answered(f["workloads"])]
    if rows:
        grid(out, ("forecast", "workload", "said", "9 of 10", "came", "older by the chain"), rows)
    if data["unknown"]:
        out.print(hang(Text("  not known: ", style="dim"), ", ".join(data["unknown"]), out.width))
    if data["loaded"] is not None:
        loaded = data["loaded"]
        counts = f"{loaded['runs']} runs and {loaded['forecasts']} forecasts in {loaded['entries']} entries"
        out.print(f"  loaded as {loaded['board']}: {counts}")
        _moves("to the state of that score", data["moves"], data["minutes"], out)
    if data["against"] is not None:
        _against(data["against"], out)


def _answered(workloads: Sequence[Mapping[str, Any]]) -> Sequence[Mapping[str, Any]]:
    """Those that something came of; all of them where nothing came yet."""
    return [w for w in workloads if w["came"] is not None] or workloads


def _told(f: Mapping[str, Any], w: Mapping[str, Any]) -> tuple[str, ...]:
    older = "" if w["came"] is None else "the forecast" if w["older"] else "not shown"
    return (
        f["number"],
        w["workload"],
        f"{number(w['median'])} {w['unit']}",
        band(w["band90"]),
        "open" if w["came"] is None else f"{number(w['came'])}, run {w['run']}",
        older + (", but that state had a run before it" if f["seen_result"] else ""),
    )


def _moves(title: str, moves: Sequence[Mapping[str, Any]], took: float | None, out: Console) -> None:
    if took is None:
        out.print(f"  {title}: it cannot be set by the jumpers and entries here")
    elif not moves:
        out.print(f"  {title}: nothing has to be moved")
    else:
        out.print(f"  {title}, {minutes(took)}:")
        for m in moves:
            out.print(hang(Text(f"    {m['n']}. "), m["what"], out.width))


def _against(a: Mapping[str, Any], out: Console) -> None:
    rows = [(d["setting"], d["theirs"] or "?", d["yours"] or "?") for d in a["differs"]]
    grid(out, ("setting", "theirs", a["board"]), rows)
    _moves(f"to come as near as {a['board']} can", a["moves"], a["minutes"], out)
    s = a["score"]
    if s is not None and s["yours"] is not None:
        both = f"theirs {number(s['theirs'].value)}, yours {number(s['yours'].value)} {s['unit']}"
        out.print(f"  {s['workload']}: {both}" + (f" ({s['why']})" if s["why"] else ""))
    elif s is not None:
        out.print(f"  {s['workload']}: {s['why']}")
