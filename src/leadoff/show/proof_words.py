"""Counts, rows of readings and runs needed, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.house_words import house, timer
from leadoff.show.terminal import hang
from leadoff.show.text import number


def proof(data: Mapping[str, Any], out: Console) -> None:
    """One of the answers."""
    kind = data["kind"]
    if kind == "count":
        out.print(f"  {data['said']}")
        if data["bad"]:
            text = f"one-sided, at 95 %: below {100 * data['below_one_sided_95']:.1f} %"
            out.print(hang(Text("  or: ", style="dim"), text, out.width))
    elif kind == "clean_needed":
        out.print(f"  {data['clean_runs']} runs without a failure; then: {data['said']}")
    elif kind == "needed":
        q = data["repeatability_pct"]
        each = data["runs_each"] if data["runs_each"] is not None else "more than 10000"
        out.print(f"  {each} runs in each state, in the order {data['order']}")
        sd = f"{number(q.value, 2)} % ({q.source.value}, {q.why})"
        text = f"{data['difference_pct']:g} % at repeatability {sd}, 4 times of 5"
        out.print(hang(Text("  for: ", style="dim"), text, out.width))
    elif kind == "forecasts":
        _forecasts(data, out)
    elif kind == "house":
        house(data, out)
    elif kind == "timer":
        timer(data, out)
    else:
        _difference(data, out)


def _forecasts(data: Mapping[str, Any], out: Console) -> None:
    for x in data["scored"]:
        held = "inside" if x["in90"] else "outside"
        own = f"; your guess {number(x['guess'])}" if x["guess"] is not None else ""
        text = f"said {number(x['median'])}, came {number(x['score'])}: {held} the 90 % band{own}"
        out.print(hang(Text(f"  {x['number']} {x['board']} {x['workload']}: "), text, out.width))
    for level, name in ((50, "hit50"), (90, "hit90")):
        hits, of = data[name]
        out.print(f"  {level} % bands: {hits} of {of} held")
    if data["mean_width90_pct"] is not None:
        out.print(f"  mean width of the 90 % band: {number(data['mean_width90_pct'], 3)} %")
    if sum(data["closer"]):
        tool, own_closer, draws = data["closer"]
        out.print(f"  closer: forecast {tool}, you {own_closer}, draws {draws}")
    out.print(
        f"  not counted: {data['late']} sealed with the result known, {data['replaced']} sealed anew before the run, "
        f"{data['untried']} not tried yet"
    )


def _difference(data: Mapping[str, Any], out: Console) -> None:
    d, r = data["difference"].value, data["ratio_pct"].value
    lo, hi = data["p95"]
    shown = "shown" if data["verdict"] == "shown" else "not shown"
    out.print(f"  {d:+.3g} ({r:+.2f} %), 95 % interval {lo:+.3g} to {hi:+.3g}: [bold]{shown}[/bold]")
    if data["verdict"] != "shown":
        low, high = data["possible_pct"]
        out.print(f"  not ruled out: {low:+.2f} % to {high:+.2f} %")
        if data["runs_each"]:
            out.print(f"  runs needed in each state to show this much, 4 times of 5: {data['runs_each']}")
    for line in data["advice"]:
        out.print(hang(Text("  advice: "), line, out.width))
