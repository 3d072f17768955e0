"""How a workload shows its result: rounded or cut off at its resolution."""

from __future__ import annotations

from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from leadoff.record.runs import Reading
from leadoff.validation.rows import WorkloadRow


def printed(workload: WorkloadRow, score: float) -> Reading:
    """The reading a person would type. The interval is that of a rounded figure, as a reader must take it.

    A workload that cuts digits off (``printing`` is ``trunc``) prints low by half a digit on average: the
    world knows, the reader does not.
    """
    step = Decimal(str(workload.resolution))
    how = ROUND_DOWN if workload.printing == "trunc" else ROUND_HALF_UP
    shown = (Decimal(repr(score)) / step).quantize(Decimal(1), rounding=how) * step
    half = workload.resolution / 2.0
    return Reading(text=str(shown), value=float(shown), lo=float(shown) - half, hi=float(shown) + half)
