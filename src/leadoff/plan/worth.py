"""What a gain is worth that is told with a spread, and the constants of planning."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files


def expected_gain(gain_pct: float, sd_pct: float) -> float:
    """Mean of what a run would show as a gain: nothing is lost by one that falls short, and less than
    ``seen_gain_pct`` no run shows."""
    least = plan_values()["seen_gain_pct"]
    if sd_pct <= 0.0:
        return gain_pct if gain_pct > least else 0.0
    z = (gain_pct - least) / sd_pct
    density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    return sd_pct * density + gain_pct * 0.5 * math.erfc(-z / math.sqrt(2.0))


@lru_cache(maxsize=1)
def plan_values() -> Mapping[str, float]:
    """Constants of the ranking; source and certainty stand beside each in plan/data/plan.toml."""
    text = files("leadoff.plan").joinpath("data/plan.toml").read_text(encoding="utf-8")
    return {k: float(v["value"]) for k, v in tomllib.loads(text).items() if isinstance(v, dict)}
