"""The house as an instrument, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.counted import counted
from leadoff.show.terminal import hang
from leadoff.show.text import number

_TIMER = {
    "agrees": "the timer agrees with the other clock",
    "slow": "the timer counts too few seconds: a rate made with it is too high by that much",
    "fast": "the timer counts too many seconds: a rate made with it is too low by that much",
}


def house(data: Mapping[str, Any], out: Console) -> None:
    """Each workload in a few lines."""
    if not data["workloads"]:
        out.print("  no score yet: nothing is known of this house")
    for w in data["workloads"]:
        q = w["repeatability"]
        text = f"{number(q.value, 2)} % ({number(q.lo, 2)} to {number(q.hi, 2)}), {q.source.value}, {q.why}"
        _line(out, f"  {w['workload']}  repeats within: ", text)
        if w["step_pct"] is not None:
            more = ": coarser than that" if w["coarse"] else ""
            _line(out, "    one step of the score: ", f"{number(w['step_pct'], 2)} %{more}")
        _line(out, "    within an evening: ", _drift(w))
        _line(out, "    between evenings: ", _evenings(w["evenings"]))
        if (a := w["anchor"]) is not None:
            rig = f", {a['rig']}" if a["rig"] else ""
            where = f"{a['board']} ({a['state']}{rig})"
            _line(out, "    anchor: ", f"{where}, {len(a['runs'])} runs in {a['evenings']} evenings")
        for said in w["advice"]:
            _line(out, "    advice: ", said)


def timer(data: Mapping[str, Any], out: Console) -> None:
    """One verdict."""
    q = data["other_over_shown_pct"]
    text = f"{q.value:+.2f} % ({q.lo:+.2f} to {q.hi:+.2f}, 95 %), {counted(data['pairs'], 'pair')}: "
    text += _TIMER[data["verdict"]]
    _line(out, "  other clock over the timer: ", text)


def _drift(w: Mapping[str, Any]) -> str:
    if w["too_close"]:
        return "not known: states were run again too soon after the first time"
    if (d := w["drift"]) is None:
        return "not known: no state was run at two times of one evening"
    shown = "shown" if d["shown"] else "no drift shown"
    return f"{d['pct_per_hour']:+.2f} % an hour ({d['lo']:+.2f} to {d['hi']:+.2f}), from {d['runs']} runs: {shown}"


def _evenings(e: Mapping[str, Any] | None) -> str:
    if e is None:
        return "not known: no state was run in two evenings"
    chance = "under 1 %" if e["chance"] < 0.01 else f"{100.0 * e['chance']:.0f} %"
    shown = "shown" if e["shown"] else "no difference shown"
    where = f"{counted(e['states'], 'state')} in {e['evenings']} evenings"
    return f"{number(e['sd_pct'], 2)} % apart ({where}; by chance alone {chance}): {shown}"


def _line(out: Console, head: str, text: str) -> None:
    out.print(hang(Text(head, style="dim"), text, out.width))
