"""A number that says where it comes from."""

from __future__ import annotations

from enum import StrEnum

import msgspec


class Source(StrEnum):
    """Where a value comes from; the last two mean that there is no value, and ``why`` says so."""

    MEASURED = "measured"
    READ = "read"
    DECLARED = "declared"
    COMPUTED = "computed"
    ASSUMED = "assumed"
    UNKNOWN = "unknown"
    UNDEFINED = "undefined"


class Quantity(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=False):
    """A value with its unit, its source and, where known, a band.

    ``lo`` and ``hi`` bound the value with probability ``level``. A quantity of source unknown or undefined
    has value ``None`` and a reason in ``why``: a blank is never zero.
    """

    value: float | None
    unit: str
    source: Source
    lo: float | None = None
    hi: float | None = None
    level: float = 0.9
    refs: tuple[str, ...] = ()
    why: str = ""

    def __post_init__(self) -> None:
        if (self.value is None) != (self.source in (Source.UNKNOWN, Source.UNDEFINED)):
            raise ValueError(f"value {self.value!r} does not go with source {self.source.value!r}")


def unknown(unit: str, why: str) -> Quantity:
    """A quantity that exists and is not known."""
    return Quantity(value=None, unit=unit, source=Source.UNKNOWN, why=why)


def undefined(unit: str, why: str) -> Quantity:
    """A quantity that does not exist here, such as a score of a workload that cannot run."""
    return Quantity(value=None, unit=unit, source=Source.UNDEFINED, why=why)


def computed(value: float, unit: str, *refs: str) -> Quantity:
    """A quantity that follows from others."""
    return Quantity(value=value, unit=unit, source=Source.COMPUTED, refs=refs)
