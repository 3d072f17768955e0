"""What pictures are drawn from: points and bands, ready to be shown."""

from __future__ import annotations

import msgspec


class RunPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One run in order: its number and score, ``None`` when it failed; the record after it."""

    number: str
    order: int
    score: float | None
    record: float | None
    outcome: str


class SealedBand(msgspec.Struct, frozen=True, kw_only=True):
    """One sealed forecast of one workload; ``outcome`` is ``None`` while nothing was measured."""

    label: str
    median: float
    band50: tuple[float, float]
    band90: tuple[float, float]
    outcome: float | None
    unit: str
