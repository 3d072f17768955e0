"""Boards, states, moves and undo in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from leadoff.record.quantity import Quantity
from leadoff.record.settings import SETTINGS, SettingKind, kind_of
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import amount, minutes, number, pairs, plain

MOST_UNDONE = 8
"""More entries than this were read from files in one go: they are counted, not listed."""


def board(data: Mapping[str, Any], out: Console) -> None:
    """A board added, or the list."""
    if "boards" in data:
        _list(data["boards"], out)
        return
    heading(out, f"{data['board']} is in the book", str(data.get("class", "")))
    if data["unknown"]:
        out.print(hang(Text("  not known yet: "), ", ".join(data["unknown"]), out.width))
    else:
        out.print("  everything on its sheet is known")


def _list(boards: Sequence[Mapping[str, Any]], out: Console) -> None:
    if not boards:
        out.print("no boards yet: leadoff board add FILE.toml")
        return
    rows = [
        (b["board"], b["class"], str(b["runs"]), str(b["unknown"]), str(b["open_symptoms"] or ""))
        for b in boards
    ]
    grid(out, ("board", "class", "runs", "not known", "open symptoms"), rows, first_bold=True)


def state(data: Mapping[str, Any], out: Console) -> None:
    """One page ordered by known, assumed, disputed, unknown."""
    heading(out, data["board"], data["class"])
    clocks_line(data["clocks"], out)
    groups: dict[str, list[tuple[str, Mapping[str, Any]]]] = {}
    for name, setting in data["settings"].items():
        groups.setdefault(setting["status"], []).append((name, setting))
    for status in ("disputed", "known", "assumed"):
        rows = groups.get(status)
        if rows:
            out.print(f"\n[bold]{status}[/bold]")
            _settings(rows, out)
    if groups.get("unknown"):
        names = ", ".join(name for name, _ in groups["unknown"])
        out.print()
        out.print(hang(Text("unknown  ", style="bold"), names, out.width))
    for s in data["open_symptoms"]:
        detail = f" ({s['detail']})" if s["detail"] else ""
        out.print(f"  open since {s['since']}: {escape(s['symptom'])}{escape(detail)}")
    if data.get("conflicts"):
        from leadoff.show.read_words import conflicts

        out.print()
        conflicts(data["conflicts"], out)
    _runs(data, out)
    out.print()


def _settings(rows: Iterable[tuple[str, Mapping[str, Any]]], out: Console) -> None:
    shown = []
    for name, setting in rows:
        known = SETTINGS.get(name)
        unit = known.unit if known is not None else ""
        value = (
            setting["value"]
            if kind_of(name) is not SettingKind.RATIO
            else setting.get("exact", setting["value"])
        )
        shown.append(
            (name, f"{plain(value)} {unit}".strip(), str(setting["source"]), str(setting.get("why", "")))
        )
    grid(out, ("", "", "", ""), shown)


def clocks_line(clocks: Mapping[str, Quantity], out: Console) -> None:
    """Clocks in one line, each with its source."""
    parts = []
    for name in sorted(clocks, key=lambda n: (n != "core_mhz", n != "bus_mhz", n)):
        q = clocks[name]
        parts.append(
            f"{name.removesuffix('_mhz')} {amount(q)} ({q.source.value})"
            if q.value is not None
            else f"{name.removesuffix('_mhz')} ?"
        )
    out.print(hang(Text("  clocks: "), "; ".join(parts), out.width))


def _runs(data: Mapping[str, Any], out: Console) -> None:
    if not data["runs"]:
        return
    out.print(f"\n[bold]last runs[/bold] [dim]of {data['runs_in_all']}[/dim]")
    rows = []
    for run in data["runs"]:
        score = run["score"]
        typed = " ".join(run["readings"])
        shown = typed if any(c.isalpha() for c in typed) else f"{typed} {score.unit}" if typed else "-"
        place = f" ({run['place']})" if run["place"] else ""
        when = run["when"].replace("T", " ").removesuffix("Z")
        outcome = run["outcome"].replace("_", " ") + place
        rows.append((run["number"], when, run["workload"] or "-", shown, outcome))
    grid(out, ("run", "when", "workload", "score", "outcome"), rows)


def move(data: Mapping[str, Any], out: Console) -> None:
    """The moves one by one."""
    heading(out, data["board"], data["understood"])
    moves_words(data["moves"], out)
    clocks_line(data["after"]["clocks"], out)


def moves_words(moves: Sequence[Mapping[str, Any]], out: Console, indent: str = "  ") -> None:
    """A numbered list of acts; ``off`` marks those done with the plug pulled."""
    for m in moves:
        off = "off " if m["power_off"] else "    "
        text = m["what"] + ("" if m["reversible"] else " (cannot be undone)")
        head = Text(f"{indent}{m['n']}. ") + Text(off, style="bold")
        out.print(hang(head, text, out.width))
        if m["hazard"]:
            out.print(hang(Text(f"{indent}       care: ", style="yellow"), m["hazard"], out.width))
    if moves:
        out.print(f"{indent}[dim]{minutes(sum(m['minutes'] for m in moves))} in all[/dim]")


def undo(data: Mapping[str, Any], out: Console) -> None:
    """What no longer counts."""
    if len(data["undone"]) > MOST_UNDONE:
        kinds = Counter(u["kind"] for u in data["undone"])
        told = ", ".join(f"{n} {kind}{'' if n == 1 else 's'}" for kind, n in kinds.items())
        out.print(hang(Text("undone: "), f"all that was read in one go: {told}, the last of them", out.width))
    for u in data["undone"][: 1 if len(data["undone"]) > MOST_UNDONE else None]:
        word = "withdrawn" if u["how"] == "withdraw" else "undone"
        when = u["at"].replace("T", " ").removesuffix("Z")
        out.print(hang(Text(f"{word}: "), f"{u['what']}, {when}", out.width))


def nearest_words(near: Sequence[Mapping[str, Any]], out: Console) -> None:
    """What could be set instead."""
    out.print("[bold]nearest that can be set[/bold]")
    for n in near:
        core, bus = n["clocks"]["core_mhz"], n["clocks"]["bus_mhz"]
        head = Text(f"  core {number(core)} MHz, bus {number(bus)} MHz  ")
        over = ", ".join(f"{b['what'].replace('_', ' ')} {b['over_pct']:+.0f} %" for b in n["beyond"])
        text = f"{n['how']} ({pairs(n['settings'])})" + (f"; beyond its limit: {over}" if over else "")
        out.print(hang(head, text, out.width))
