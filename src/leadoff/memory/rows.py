"""Reads the data rows of this floor, once."""

from functools import partial

from leadoff.record.tables import table

rows = partial(table, "memory")
