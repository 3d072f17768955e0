"""Constants of this folder, from data rows: value, unit, source and how it is known."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache, partial

import msgspec

from leadoff.record import tables
from leadoff.record.quantity import Quantity, Source

table = partial(tables.table, "worth")
limit = partial(tables.limit, "worth")


class Band(msgspec.Struct, frozen=True, kw_only=True):
    """What something that nobody stated usually is: the middle and nine cases in ten, of ``unit``."""

    value: float
    lo: float
    hi: float
    unit: str
    why: str
    source: str
    certainty: str

    def assumed(self, unit: str) -> Quantity:
        """The band as an assumed quantity in a unit of the caller's."""
        return Quantity(
            value=self.value,
            unit=unit,
            source=Source.ASSUMED,
            lo=self.lo,
            hi=self.hi,
            why=f"{self.why} ({self.certainty})",
        )


@lru_cache(maxsize=1)
def bands() -> Mapping[str, Band]:
    """What unstated components may be, by name."""
    return {name: msgspec.convert(row, Band) for name, row in table("unstated").items()}
