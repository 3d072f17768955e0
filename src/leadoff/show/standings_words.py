"""Standings in words: one table for each group, then what stays out and what cannot be compared."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.quantity import Quantity
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import chance, number

BETTER = {"higher": "more is better", "lower": "less is better"}
GRADES = {"soaked_copy_clean": "soaked, copies clean", "copy_clean": "copies clean"}


def standings(data: Mapping[str, Any], out: Console) -> None:
    """Every group, the missing bridges, what is open."""
    if not data["groups"]:
        out.print("  no run with a score yet")
    for g in data["groups"]:
        rigs = " + ".join(r or "no rig recorded" for r in g["rigs"])
        heading(out, g["workload"], f"{g['unit']}, {BETTER[g['better']]}; {rigs}")
        grid(out, ("rank", "board", "score", "95 %", "first", "grade", "state"), [_row(r) for r in g["rows"]])
        for r in g["rows"]:
            _adjusted(r, g["rig"], out)
        for k in g["kept_out"]:
            rig = f", {k['rig'] or 'no rig recorded'}" if len(g["rigs"]) > 1 else ""
            text = f"{k['board']} {number(k['score'])} {k['unit']} ({k['state']}{rig}): {k['grade_said']}"
            out.print(hang(Text("  not ranked: ", style="yellow"), text, out.width))
    for line in data.get("records", ()):
        _history(line, out)
    for m in data["not_comparable"]:
        text = f"{m['workload']}: {m['a']} against {m['b']}; missing: {m['missing']}"
        out.print(hang(Text("  not comparable: ", style="bold"), text, out.width))
    for s in data["open_symptoms"]:
        text = f"{s['board']}: {s['finding']}" + (f", {s['detail']}" if s["detail"] else "")
        out.print(hang(Text("  open: "), text, out.width))


def _history(line: Mapping[str, Any], out: Console) -> None:
    """The record of one group of rigs, a line for each change."""
    rigs = ", ".join(r or "no rig recorded" for r in line["rigs"])
    heading(out, f"record of {line['workload']}", rigs)
    for s in line["steps"]:
        held = f"{s['board']} {number(s['score'])} {line['unit']}" if s["board"] else "nobody holds it"
        head = Text(f"  {s['when'][:10]} run {s['run']} {s['event']}: ")
        out.print(hang(head, f"{held}; {s['because']}", out.width))


def _row(r: Mapping[str, Any]) -> tuple[str, ...]:
    q: Quantity = r["score"]
    rank = str(r["rank_lo"]) if r["rank_lo"] == r["rank_hi"] else f"{r['rank_lo']}-{r['rank_hi']}"
    grade = GRADES.get(r["grade"], r["grade"])
    if "not_soaked" in r["flags"]:
        grade += ", not soaked"
    if "no_copy_compare" in r["flags"]:
        grade += ", no copy-compare"
    band = f"{number(q.lo)} to {number(q.hi)}"
    return rank, r["board"], number(q.value), band, chance(r["p_first"]), grade, r["state"]


def _adjusted(r: Mapping[str, Any], rig: str, out: Console) -> None:
    q = r["adjustment_pct"]
    if q is None:
        return
    text = (
        f"{r['board']} was measured with {r['rig'] or 'no rig recorded'} as {number(r['raw'])}; given for "
        f"{rig or 'no rig recorded'} by {q.value:+.1f} % ({q.lo:+.1f} to {q.hi:+.1f}), bridging runs "
        f"{', '.join(q.refs)}"
    )
    out.print(hang(Text("  adjusted: ", style="dim"), text, out.width))
