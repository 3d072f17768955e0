"""Constants of this folder, from data rows: value, unit, source and how it is known."""

from functools import partial

from leadoff.record import tables

table = partial(tables.table, "claims")
limit = partial(tables.limit, "claims")


def constant(name: str) -> float:
    """The value of one row of ``search.toml``."""
    return float(table("search")[name]["value"])
