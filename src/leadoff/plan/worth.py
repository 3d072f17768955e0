"""What a gain is worth that is told with a spread, and the constants of planning."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import Any

from leadoff.forecast.facts import Setup
from leadoff.forecast.gap import Gap
from leadoff.forecast.rows import group


def expected_gain(gain_pct: float, gap: Gap | None) -> float:
    """Mean of what a run would show as a gain: nothing is lost by one that falls short, and less than
    ``seen_gain_pct`` no run shows. Without a ``gap`` a told difference scatters by ``told_sd_pct``."""
    row = plan_values()
    least = row["seen_gain_pct"]
    if gap is None:
        return _hoped(gain_pct, row["told_sd_pct"], least)
    parts = zip(gap.weight, gap.shift, gap.sd, strict=True)
    return math.fsum(w * _hoped(gain_pct - 100.0 * m, 100.0 * s, least) for w, m, s in parts)


def _hoped(gain: float, sd: float, least: float) -> float:
    if sd <= 0.0:
        return gain if gain > least else 0.0
    z = (gain - least) / sd
    density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    return sd * density + gain * 0.5 * math.erfc(-z / math.sqrt(2.0))


def steady_attempts() -> float:
    """Attempts in a row that a state must hold to be of use: those of the soak that proves it."""
    return plan_values()["soak_minutes"] / group("hold", "attempt")["minutes"]


What = tuple[str, str, str]
"""A setting, and its values in two states."""


class Untold:
    """What changes between two states of a board whose effect the score model tells worse than it says.

    Rows of ``[untold]``, until it was tried by itself: two of ``ran`` differ in it and in no other of these settings.
    """

    def __init__(self, ran: Sequence[Setup]) -> None:
        self._tried: set[What] = set()
        for n, a in enumerate(ran):
            for b in ran[:n]:
                if len(found := list(_changed(a, b))) == 1:
                    name, one, two = found[0]
                    self._tried |= {(name, one, two), (name, two, one)}

    def between(self, setup: Setup, base: Setup) -> Iterator[tuple[What, float]]:
        """Each change, with the spread in percent that is to be added."""
        rows = _table()["untold"]
        return (
            (what, float(rows[what[0]]["value"])) for what in _changed(setup, base) if what not in self._tried
        )


def _changed(setup: Setup, base: Setup) -> Iterator[What]:
    for name in _table()["untold"]:
        now, before = _value(setup, name), _value(base, name)
        if now != before:
            yield name, now, before


def _value(setup: Setup, name: str) -> str:
    return str(setup.clocks.get(name) if name == "bus_mhz" else setup.state.value(name))


@lru_cache(maxsize=1)
def plan_values() -> Mapping[str, float]:
    """Constants of the ranking; source and certainty stand beside each in plan/data/plan.toml."""
    return {k: float(v["value"]) for k, v in _table().items() if isinstance(v, dict) and "value" in v}


@lru_cache(maxsize=1)
def _table() -> Mapping[str, Any]:
    return tomllib.loads(files("leadoff.plan").joinpath("data/plan.toml").read_text(encoding="utf-8"))
