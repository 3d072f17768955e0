"""Runs and differences in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from leadoff.show.board_words import moves_words
from leadoff.show.terminal import hang, heading
from leadoff.show.text import amount, number, sourced


def log(data: Mapping[str, Any], out: Console) -> None:
    """What was understood and kept."""
    heading(out, data["board"], data["understood"])
    for run in data["runs"]:
        score = run["score"]
        what = f"run {run['number']}"
        if score.value is None:
            rung = run["outcome"].replace("_", " ")
            place = f" ({run['place']})" if run["place"] and run["place"] not in rung else ""
            counted = f", {run['count']} of {run['of']}" if run["of"] else ""
            out.print(f"  {what}: {escape(rung + place + counted)}")
        else:
            out.print(
                f"  {what}: {escape(run['workload'] or '')} [bold]{amount(score)}[/bold] {score.source.value}"
            )
    told = [f for f in data["forecasts"] if f["in90"] is not None]
    for found in told:
        when = "sealed before" if found["sealed_before"] else "not sealed before this run"
        inside = (
            "inside the 50 % band"
            if found["in50"]
            else ("inside the 90 % band" if found["in90"] else "outside the 90 % band")
        )
        of = f" for {found['workload']}" if len(told) > 1 else ""
        out.print(
            f"  forecast {found['number']} ({when}) said {number(found['median'])}{escape(of)}: {inside}"
        )


def why(data: Mapping[str, Any], out: Console) -> None:
    """A difference, split as far as it can be."""
    a, b = data["runs"]
    heading(out, f"run {a} to run {b}", data["workload"])
    d, r = data["difference"], data["ratio_pct"]
    lo, hi = data["p95"]
    shown = "shown" if data["verdict"] == "shown" else "not shown"
    sign = "+" if (d.value or 0) >= 0 else ""
    between = f"95 % interval {number(lo, 3)} to {number(hi, 3)} {d.unit}"
    text = f"{sign}{amount(d)} ({sign}{number(r.value, 3)} %), {between}: {shown}"
    line = hang(Text("  "), text, out.width)
    line.highlight_words([shown], "bold")
    out.print(line)
    if data["verdict"] != "shown":
        low, high = data["possible_pct"]
        out.print(f"  not ruled out: {number(low, 2)} % to +{number(high, 2)} %")
        if data["runs_each"]:
            out.print(f"  runs needed in each state to show this much, 4 times of 5: {data['runs_each']}")
    grouped = {name for g in data["cannot_tell"] for name in g["factors"]}
    for f in data["factors"]:
        if f["factor"] in grouped and f["share"].value is None:
            continue
        verdict = {
            "shown": "shown by your runs",
            "not_shown": "not shown",
            "expected": "expected from physics, not shown",
            "cannot_tell": "cannot be told",
        }.get(f["verdict"], f["verdict"])
        out.print(f"  {escape(f['factor'])}: {sourced(f['share'], 3)}, {verdict}")
    for g in data["cannot_tell"]:
        names = " and ".join(g["factors"])
        head = "  cannot be told apart: " if names else "  cannot be told: "
        text = f"{names}: {g['because']}" if names else g["because"]
        out.print(hang(Text(head, style="yellow"), text, out.width))
    run = data["cheapest_run"]
    if run is not None:
        cost = f" ({run['minutes']:.0f} minutes)" if run.get("minutes") is not None else ""
        out.print(hang(Text("  run that would tell: ", style="bold"), run["why"] + cost, out.width))
        moves_words(run["moves"], out, "    ")
    for a_line in data["advice"]:
        out.print(hang(Text("  advice: "), a_line, out.width))
    for x in data.get("open_symptoms", ()):
        text = f"{x['board']}: {x['finding']}" + (f", {x['detail']}" if x["detail"] else "")
        out.print(hang(Text("  open: "), text, out.width))
