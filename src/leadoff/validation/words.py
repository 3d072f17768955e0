"""Workload rows of a world as the book's own workload records."""

from __future__ import annotations

from leadoff.record.runs import Direction, Workload
from leadoff.validation.rows import WorkloadRow

MIXES = ("integer", "coprocessor", "copy")
DRAWS = "frames"
"""What a workload that draws counts."""


def workload_of(w: WorkloadRow) -> Workload:
    """What a person would say of the workload; its working sets stay hidden. One that counts frames and writes to the
    display renders, whatever its clocks are mostly spent on; of the others the largest part of the clocks is said."""
    mix = MIXES[max(range(3), key=lambda i: w.mix[i])]
    if w.video > 0.0 and w.unit.startswith(DRAWS):
        mix = "render"
    way = Direction.LOWER if w.form == "seconds" else Direction.HIGHER
    return Workload(
        name=w.name,
        unit=w.unit,
        direction=way,
        resolution=w.resolution,
        needs=w.needs,
        minutes=w.minutes,
        mix=mix,
        text=w.text,
    )
