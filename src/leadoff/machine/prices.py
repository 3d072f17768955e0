"""Minutes of the bench, from data."""

from __future__ import annotations

from functools import lru_cache

from leadoff.record.tables import table


@lru_cache(maxsize=1)
def minutes_table() -> dict[str, float]:
    """Minutes by kind of act; source and certainty stand beside each in machine/data/minutes.toml."""
    return {name: float(row["minutes"]) for name, row in table("machine", "minutes").items()}


def minutes(kind: str) -> float:
    """Minutes of one act of a kind."""
    return minutes_table()[kind]
