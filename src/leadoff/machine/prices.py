"""Minutes of the bench, from data."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files


@lru_cache(maxsize=1)
def minutes_table() -> dict[str, float]:
    """Minutes by kind of act; source and certainty stand beside each in machine/data/minutes.toml."""
    text = files("leadoff.machine").joinpath("data/minutes.toml").read_text(encoding="utf-8")
    return {name: float(row["minutes"]) for name, row in tomllib.loads(text).items()}


def minutes(kind: str) -> float:
    """Minutes of one act of a kind."""
    return minutes_table()[kind]
