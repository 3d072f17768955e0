"""Workload rows of a world as the book's own workload records."""

from __future__ import annotations

from leadoff.record.runs import Direction, Workload
from leadoff.validation.rows import WorkloadRow

MIXES = ("integer", "coprocessor", "copy")


def workload_of(w: WorkloadRow) -> Workload:
    """What a person would say of the workload; its working sets stay hidden."""
    mix = MIXES[max(range(3), key=lambda i: w.mix[i])]
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
