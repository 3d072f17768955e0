"""A bandwidth sweep, what was read from it, and what the sheet says against it, as values."""

from __future__ import annotations

from enum import StrEnum

import msgspec

from leadoff.record.quantity import Quantity


class SweepKind(StrEnum):
    """What the loop does with the block."""

    READ = "read"
    WRITE = "write"
    COPY = "copy"


class Point(msgspec.Struct, frozen=True, kw_only=True):
    """One block size and its time. ``repeats`` readings of the same size are averaged in logs."""

    size_kb: float
    us_per_kb: float
    text: str = ""
    repeats: int = 1


class Sweep(msgspec.Struct, frozen=True, kw_only=True):
    """Points by rising size. ``said``: interpretations made in reading, to be echoed."""

    kind: SweepKind
    points: tuple[Point, ...]
    said: tuple[str, ...] = ()


class SweepLevel(msgspec.Struct, frozen=True, kw_only=True):
    """One level. ``size_kb`` lies from the largest block that it held to below the next one tried.

    ``bus_clocks_per_line`` is raw: the loop's own time is in it. ``fill_bus_clocks`` is bounded by raw minus
    the first level's raw and raw; its ``value`` is the middle and says no more than the bounds. ``patterns``
    are the four beats whose sum lies within. ``sure``: chance that the size is this one, given the levels.
    """

    size_kb: Quantity
    us_per_kb: Quantity
    mb_per_s: Quantity
    ns_per_line: Quantity
    bus_clocks_per_line: Quantity
    fill_bus_clocks: Quantity
    patterns: tuple[str, ...]
    points: int
    sure: float


class SweepReading(msgspec.Struct, frozen=True, kw_only=True):
    """All levels, fastest first; the last reaches to memory or to the end of the sweep.

    ``sure``: chance of this number of levels among those tried. ``noise_pct``: repeatability of a point as
    the sweep itself shows it.
    """

    kind: SweepKind
    levels: tuple[SweepLevel, ...]
    line_bytes: int
    bus_mhz: float | None
    largest_kb: float
    smallest_kb: float
    sure: float
    noise_pct: float
    sizes: int
    notes: tuple[str, ...] = ()

    @property
    def too_few(self) -> str:
        """Why no step is missed for certain: between so few sizes it may hide. Empty where there are enough."""
        return f"cannot be told from {_COUNTS[self.sizes]} sizes" if self.sizes in _COUNTS else ""


_COUNTS = {2: "two", 3: "three"}
"""Below four sizes a step can hide between any two of them."""


class Declared(msgspec.Struct, frozen=True, kw_only=True):
    """What the state says of the caches; ``None`` is not known. ``sweeps``: how many sweeps showed the same."""

    l1: bool | None = None
    l1_kb: float | None = None
    l1_policy: str | None = None
    l2: bool | None = None
    l2_kb: float | None = None
    l2_policy: str | None = None
    cacheable_kb: float | None = None
    ram_kb: float | None = None
    sweeps: int = 1


class Hypothesis(msgspec.Struct, frozen=True, kw_only=True):
    """One way in which both the sheet and the sweep came about. ``p`` among those listed."""

    name: str
    p: float
    check: str
    minutes: float


class Dispute(msgspec.Struct, frozen=True, kw_only=True):
    """A setting of which sheet and sweep disagree. ``hypotheses``: cheapest to rule out first."""

    setting: str
    declared: str
    seen: str
    code: str
    hypotheses: tuple[Hypothesis, ...]
