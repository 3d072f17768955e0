"""Constants of this folder, from data rows: value, unit, source and how it is known."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import Any

import msgspec

from leadoff.record.quantity import Quantity, Source


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


@lru_cache(maxsize=8)
def table(name: str) -> Mapping[str, Any]:
    """One file of ``worth/data``."""
    text = files("leadoff.worth").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@lru_cache(maxsize=1)
def bands() -> Mapping[str, Band]:
    """What unstated components may be, by name."""
    return {name: msgspec.convert(row, Band) for name, row in table("unstated").items()}


def limit(name: str) -> float:
    """The value of one row of ``limits.toml``."""
    return float(table("limits")[name]["value"])
