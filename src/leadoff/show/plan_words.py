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
    """The acts in order of worth per minute; the first one with its moves. A list, where one was asked for."""
    if "route" in data:
        _route(data["board"], data["route"], out)
        return
    out.print(f"[bold]{data['board']}: what now[/bold]")
    if not data["acts"]:
        beaten = "nothing on the sheet promises more than what was measured"
        out.print(
            f"  {beaten if data['measured'] else 'nothing was measured yet, so there is nothing to beat'}"
        )
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


def _route(board: str, route: Mapping[str, Any], out: Console) -> None:
    """The list, to be followed step by step: the minute, the moves, what to run, what to expect."""
    given = minutes(route["minutes_given"])
    out.print(f"[bold]{board}: a list for {given}[/bold], {route['goal_said']}")
    for step in route["steps"]:
        head = Text(f"  {step['n']}. ", style="bold") + Text(f"{_clock(step['at_minute'])}  ", style="dim")
        out.print(hang(head, _step(step), out.width))
        for caution in step["cautions"]:
            out.print(hang(Text("     care: ", style="yellow"), caution, out.width))
        for m in step["moves"]:
            off = "off " if m["power_off"] else "    "
            out.print(hang(Text("       - ") + Text(off, style="bold"), m["what"], out.width))
            if m["hazard"]:
                out.print(hang(Text("              care: ", style="yellow"), m["hazard"], out.width))
        if step["if_fails"]:
            runs = ", ".join(str(n) for n in step["not_if_fails"])
            out.print(
                hang(Text("       fails: "), f"{step['if_fails']}; {runs} would hardly hold", out.width)
            )
        if step["if_holds"]:
            runs = ", ".join(str(n) for n in step["not_if_holds"])
            out.print(hang(Text("       holds: "), f"{runs} would hardly gain more", out.width))
    if route["steps"]:
        offs = route["power_offs"]
        text = f"{minutes(route['minutes'])} if nothing fails, power off {offs} {'time' if offs == 1 else 'times'}"
        if route["gain_pct"] > 0.0:
            text += f"; brings {route['gain_pct']:.1f} % on average"
        out.print(hang(Text("  in all: "), text, out.width))
    if route["stop"]:
        out.print(hang(Text("  when to stop: "), route["stop"], out.width))


def _clock(at: float) -> str:
    return f"{int(at) // 60}:{int(at) % 60:02d}"


def _step(step: Mapping[str, Any]) -> str:
    """What to do in one line; a run with what it should score."""
    p = step["predicted"]
    if p is None or p["median"] is None:
        return f"{step['what']}, {minutes(step['minutes'])}" + (f". {step['why']}" if step["why"] else "")
    score = f"{p['workload']} {number(p['median'])} {p['unit']} ({band(p['band90'])})"
    return (
        f"{step['what']}: {score}, holds with {chance(step['chance_hold'].value)}, {minutes(step['minutes'])}"
    )
