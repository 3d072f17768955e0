"""A change of cache or memory in words: now beside then, what it brings, where it stops paying."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.counted import counted
from leadoff.record.quantity import Quantity
from leadoff.show.board_words import moves_words
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import chance, number, sourced


def swap(data: Mapping[str, Any], out: Console) -> None:
    """Both sides, the change, the reasons, the way there."""
    heading(out, f"{data['board']}: swap", f"programs like {data['like']}; nothing stored")
    now, then = data["now"], data["then"]
    rows = [
        ("second level", _level(now), _level(then)),
        ("cache read", _read(now["read"]), _read(then["read"])),
        ("line from memory", _clocks(now["memory"]["clocks"]), _clocks(then["memory"]["clocks"])),
        ("line reads it serves", _share(data["hit_now"]), _share(data["hit_then"])),
        ("mean line", _clocks_q(data["mean_fill_now"]), _clocks_q(data["mean_fill_then"])),
        ("cacheable", sourced(now["cacheable_mb"]), sourced(then["cacheable_mb"])),
    ]
    grid(out, ("", "now", "then"), [tuple(_plain(c) for c in r) for r in rows], first_bold=True)
    change = data["score_change_pct"]
    _line(out, "speed", f"{_pct(change)}; faster with {chance(data['chance_faster'])}: {_pays(data['pays'])}")
    for s in data["workloads"]:
        seen = (
            "" if s["seen"] is not False else f"; below one step of its score ({number(s['step_pct'], 2)} %)"
        )
        _line(out, s["workload"], f"{_pct(s['score_change_pct'])}{seen}")
    for p in data["parts"] if len(data["parts"]) > 1 else ():
        _line(out, "of this alone", f"{p['what']} {_pct(p['score_change_pct'])}")
    for p in data["placed"]:
        _line(out, "a program", f"{p['what']} {_pct(p['score_change_pct'])}")
    _line(out, "pays", _even(data))
    for text in data["why"]:
        _line(out, "why", text)
    if data["moves"]:
        out.print("  to get there:")
        moves_words(data["moves"], out, "    ")


def _even(data: Mapping[str, Any]) -> str:
    """Up to where it pays: a hit, or the mean line where there is no second level."""
    hit, line = data["break_even_l2_clocks"], data["break_even_fill_clocks"]
    mean = f"up to a mean line of {_clocks_q(line)}"
    if hit.value is None:
        return mean
    if hit.value <= 0:
        return f"{mean}; no second level is quick enough for that"
    return f"up to a cache read of {_clocks_q(hit)}, which is {mean.removeprefix('up to ')}"


def _line(out: Console, head: str, text: str) -> None:
    out.print(hang(Text(f"  {head}: ", style="bold" if head == "speed" else ""), text, out.width))


def _level(side: Mapping[str, Any]) -> str:
    if not side["l2_kb"]:
        return "none, or off"
    parts = [f"{side['l2_kb']} KB"]
    if side["l2_banks"]:
        parts.append(counted(side["l2_banks"], "bank"))
    if side["ways"] and side["ways"] > 1:
        parts.append(f"{side['ways']} ways")
    parts.append({"wt": "write-through", "wb": "write-back"}.get(side["l2_policy"] or "", ""))
    return ", ".join(p for p in parts if p)


def _read(read: Mapping[str, Any] | None) -> str:
    if read is None:
        return "-"
    clocks = _clocks(read["clocks"])
    if read["pattern"] is None:
        return clocks
    holds = read["chance_hold"]
    return f"{read['pattern']} ({clocks}" + (f"; holds {chance(holds)})" if holds is not None else ")")


def _clocks(pair: Any) -> str:
    low, high = (number(v, 3) for v in pair)
    return f"{low} clocks" if low == high else f"{low} to {high} clocks"


def _clocks_q(q: Quantity) -> str:
    if q.value is None:
        return q.source.value
    band = "" if q.lo is None or q.hi is None else f" ({number(q.lo, 3)} to {number(q.hi, 3)})"
    return f"{number(q.value, 3)} clocks{band}"


def _share(q: Quantity) -> str:
    if q.value is None:
        return q.source.value
    band = "" if q.lo is None or q.hi is None else f" ({100 * q.lo:.0f} to {100 * q.hi:.0f})"
    return f"{100 * q.value:.0f} %{band}"


def _pct(q: Quantity) -> str:
    if q.value is None:
        return q.source.value
    band = "" if q.lo is None or q.hi is None else f" ({q.lo:+.1f} to {q.hi:+.1f})"
    return f"{q.value:+.1f} %{band}"


def _pays(word: str) -> str:
    return {"yes": "it pays", "no": "it does not pay"}.get(word, "cannot be told")


def _plain(text: str) -> str:
    return text.replace("[dim]", "").replace("[/dim]", "")
