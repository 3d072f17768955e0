"""A forecast in words: the number, its band, the odds, what it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.counted import counted
from leadoff.show.board_words import clocks_line, moves_words
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import band, chance, number

BASIS = {
    "runs": "from this board's runs and the whole book",
    "family": "no runs of this board: physics and family only",
    "clocks": "from the two clocks of this board's runs",
}


LEAST_PCT = 0.05
"""What widens a band by less prints as nothing."""

PART_WORDS = {
    "core": "core",
    "cache": "fills from the second-level cache",
    "memory": "reads from memory",
    "store": "stores",
    "victims": "lines written back",
    "video": "display",
    "refresh": "refresh",
    "resident": "resident programs",
}


def split_line(parts: Sequence[Mapping[str, Any]]) -> str:
    """Where the time goes, largest part first, parts below one percent together."""
    order = sorted((p for p in parts if p["pct"] >= 1.0), key=lambda p: -p["pct"])
    told = [f"{PART_WORDS[p['part']]} {p['pct']:.0f} % ({p['lo']:.0f} to {p['hi']:.0f})" for p in order]
    rest = sum(p["pct"] for p in parts if p["pct"] < 1.0)
    return ", ".join(told) + (f", the rest {rest:.1f} %" if rest >= 0.05 else "")


LEARNT = 1.15
"""Odds over those before any run from which a family is said to have been learnt."""


def family_line(odds: Sequence[Mapping[str, Any]]) -> str:
    """Which profile family leads, and whether the runs or only the start made it lead."""
    first = odds[0]
    if first["odds"] < LEARNT * first["before"]:
        return "no profile family in particular: its runs do not tell them apart yet"
    odds, before = 100 * first["odds"], 100 * first["before"]
    return f"the {first['family']} profile first, {odds:.0f} % ({before:.0f} % before any run)"


def by_clocks(lower: float | None, upper: float | None, noise_pct: float | None) -> str:
    """What the slowest and the fastest clock alone would make of the nearest run, with the noise of two runs."""
    if lower is None or upper is None:
        return ""
    ends = number(lower) if number(lower) == number(upper) else f"{number(lower)} to {number(upper)}"
    return ends if noise_pct is None else f"{ends} \u00b1 {number(upper * noise_pct / 100.0, 2)}"


def forecast(data: Mapping[str, Any], out: Console) -> None:
    """The forecast, sealed or only looked at."""
    sealed = f"sealed as {data['number']}" if data["number"] else "not sealed"
    heading(out, f"{data['board']}: forecast", f"{sealed}; {BASIS.get(data['basis'], data['basis'])}")
    clocks_line(data["state"]["clocks"], out)
    shown = [w for w in data["workloads"] if data.get("everything", True) or w["run_here"]]
    rows = [
        (
            w["workload"],
            f"{number(w['median'])} {w['unit']}",
            band(w["band50"]),
            band(w["band90"]),
            by_clocks(w["lower"], w["upper"], data.get("bound_noise_pct", {}).get(w["workload"])),
        )
        for w in shown
        if w["median"] is not None
    ]
    grid(out, ("workload", "median", "half the time", "9 of 10", "by clocks alone"), rows, first_bold=True)
    for w in shown:
        if w["median"] is None:
            out.print(hang(Text(f"  {w['workload']}: "), w["undefined"] or "cannot say", out.width))
    if more := len(data["workloads"]) - len(shown):
        out.print(
            hang(
                Text("  not shown: "),
                f"{counted(more, 'workload')} never run on this board; --all",
                out.width,
            )
        )
    for name in [w["workload"] for w in shown if w["workload"] in data.get("time_split", {})][:1]:
        out.print(hang(Text(f"  time of {name}: "), split_line(data["time_split"][name]), out.width))
    for w in [w for w in shown if w["workload"] in data.get("families", {})][:1]:
        out.print(
            hang(
                Text(f"  {w['workload']} is like: "), family_line(data["families"][w["workload"]]), out.width
            )
        )
    c = data["chance"]
    odds = ", ".join(f"{word} {chance(c[word].value)}" for word in ("start", "boot", "hold"))
    out.print(
        hang(Text("  chance to: "), f"{odds}" + (f" ({c['hold'].why})" if c["hold"].why else ""), out.width)
    )
    if data["taught"]:
        out.print(hang(Text("  rests on: "), data["taught"], out.width))
    named = {w["workload"] for w in shown}
    for w in [w for w in data["widened_by"] if w["workload"] in named and w["pct"] >= LEAST_PCT][:3]:
        text = f"{w['setting']} widens the band of {w['workload']} by {w['pct']:.1f} %"
        if w["reading"]:
            text += f"; {w['reading']}"
        out.print(hang(Text("  unknown: "), text, out.width))
    if data["best_first_run"]:
        out.print(hang(Text("  best first run: "), data["best_first_run"], out.width))
    if data["moves"]:
        out.print("  to get there:")
        moves_words(data["moves"], out, "    ")
