"""Small words of a history: what a changeover costs, how a run is said, what a logged run truly was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from leadoff.record.quantity import Source
from leadoff.record.runs import Run
from leadoff.record.state import Setting, Status
from leadoff.validation.sheets import JUMPERS, SOFTWARE


@dataclass(frozen=True)
class Logged:
    """Ground truth of one logged run: what was declared, what was true, which setting was wrong (or "")."""

    number: str
    at: str
    board: str
    workload: str
    declared: Mapping[str, str | None]
    true: Mapping[str, str]
    boot: int
    rig: str
    run: Run
    wrong: str = ""


def settled(state: Mapping[str, str]) -> dict[str, str]:
    """The state with its can in step with its bus clock."""
    out = dict(state)
    if "can_mhz" in out:
        out["can_mhz"] = str(Fraction(out["bus_mhz"]) * 2)
    return out


def minutes_for(changed: list[str]) -> float:
    """Bench minutes of a changeover, common practice, no source."""
    jumpers = [n for n in changed if n in JUMPERS]
    swaps = [n for n in changed if n in ("can_mhz", "cpu", "l2_kb", "l2_ns", "ram_mb", "video")]
    setup = [n for n in changed if n not in jumpers and n not in swaps and n not in SOFTWARE]
    return (4.0 + len(jumpers) if jumpers else 0.0) + 10.0 * len(swaps) + (3.0 if setup else 0.0)


def spoken(run: Run) -> str:
    """A run in the words of the bench."""
    name = f"{run.workload} " if run.workload else ""
    if run.readings:
        return name + " ".join(r.text for r in run.readings)
    if run.outcome.value == "no_start":
        return "no start"
    if run.after_s is not None:
        return f"{name}hang {int(run.after_s) // 60}:{int(run.after_s) % 60:02d}"
    return f"{name}hang {run.place}"


def as_setting(value: str | None) -> Setting:
    """A declared or an unknown setting."""
    if value is None:
        return Setting(value=None, status=Status.UNKNOWN, source=Source.UNKNOWN, why="never read")
    return Setting(value=value, status=Status.KNOWN, source=Source.DECLARED)


def stamp(at: datetime) -> str:
    """Effective time to the minute."""
    return at.strftime("%Y-%m-%dT%H:%M")
