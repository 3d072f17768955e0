"""Standings as the page says them: ranks, where a row's interval stands on the scale its group shares."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

WIDE = 1000.0
SPAN = 4.0
"""From this ratio of highest to lowest on, a scale is by ratio: else the slow boards would be one heap."""
BETTER = {"higher": "more is better", "lower": "less is better"}
FLAGS = {
    "not_soaked": "not soaked",
    "no_copy_compare": "no copy-compare",
    "unknown_settings": "settings not known",
    "unsafe": "unsafe state",
    "rig_not_recorded": "rig not recorded",
    "adjusted": "adjusted",
}


def rank(row: Mapping[str, Any]) -> str:
    """A rank, or the ranks between which nothing was shown."""
    lo, hi = row["rank_lo"], row["rank_hi"]
    return str(lo) if lo == hi else f"{lo} to {hi}"


def flags(row: Mapping[str, Any]) -> str:
    """What is to be known beside a score, in words."""
    return ", ".join(FLAGS.get(f, f.replace("_", " ")) for f in row["flags"])


def rig(name: str) -> str:
    """A rig's name, or that nobody gave one."""
    return name or "no rig recorded"


def ends(row: Mapping[str, Any]) -> tuple[float, float]:
    """Low and high end of a row's interval; the score itself where there is none."""
    q = row["score"]
    lo = q["lo"] if q["lo"] is not None else q["value"]
    hi = q["hi"] if q["hi"] is not None else q["value"]
    return float(lo), float(hi)


def by_ratio(rows: Sequence[Mapping[str, Any]]) -> bool:
    """Whether a group's scores lie so far apart that their scale goes by ratio."""
    found = [end for row in rows for end in ends(row)]
    return bool(found) and min(found) > 0 and max(found) / min(found) > SPAN


def intervals(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, float]]:
    """For each row the places of its interval and score, 0 to 1000, on one scale for the whole group."""
    if not rows:
        return []
    bend = math.log if by_ratio(rows) else float
    found = [(bend(lo), bend(row["score"]["value"]), bend(hi)) for row in rows for lo, hi in [ends(row)]]
    low, high = min(f[0] for f in found), max(f[2] for f in found)
    room = (high - low) * 0.04 or 1.0
    low, high = low - room, high + room

    def at(x: float) -> float:
        return round(WIDE * (x - low) / (high - low), 1)

    return [{"lo": at(lo), "mid": at(mid), "hi": at(hi)} for lo, mid, hi in found]
