"""How well the catalogue is known: values by certainty, rows by their weakest value."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from leadoff.catalogue.catalogue import Catalogue
from leadoff.catalogue.kinds import KINDS
from leadoff.catalogue.origin import Certainty


class Share(NamedTuple):
    """Counts of one kind of row: rows and values in all, values by certainty, rows by weakest certainty."""

    kind: str
    rows: int
    values: int
    by_value: Counter[Certainty]
    by_weakest: Counter[Certainty]


def shares(catalogue: Catalogue) -> list[Share]:
    """One line for each kind of row, and a last one named ``all``."""
    found: list[Share] = []
    for kind, place in KINDS.items():
        rows = list(getattr(catalogue, place.field).values())
        by_value = Counter(origin.certainty for row in rows for _, origin in row.values().values())
        by_weakest = Counter(row.weakest for row in rows)
        found.append(Share(kind, len(rows), by_value.total(), by_value, by_weakest))
    values: Counter[Certainty] = sum((s.by_value for s in found), Counter())
    weakest: Counter[Certainty] = sum((s.by_weakest for s in found), Counter())
    return [*found, Share("all", weakest.total(), values.total(), values, weakest)]
