"""Constants and words of this folder, from data rows: value, unit, source and how it is known."""

from functools import partial

from leadoff.record import tables

table = partial(tables.table, "evidence")
limit = partial(tables.limit, "evidence")
