"""What workloads ask of the caches: lines, stores and victims per unit of work, from working sets.

References that stop missing once a cache holds a working set fall off with its size, sharply when the cache
has ways to choose from, gently when it is direct-mapped; longer lines fetch neighbours along.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leadoff.validation.columns import Columns
from leadoff.validation.rows import WorkloadRow

Array = NDArray[np.float64]
REFERENCE_LINE = 16.0
PLACEMENT_SD = 0.12  # log of a working set as a 128 KB cache sees it, from boot to boot


class Mill:
    """Workloads as arrays, one column each, made once."""

    def __init__(self, workloads: tuple[WorkloadRow, ...]) -> None:
        self.rows = workloads
        names = "work kcycles spatial stores store_miss clustered dirty locality video blit fixed_ms"
        self.number = {
            n: np.array([[getattr(w, n) for w in workloads]], dtype=float)
            for n in (*names.split(), "int_hz", "int_clocks", "top", "ems")
        }
        self.mix = np.array([w.mix for w in workloads])
        self.uses_fp = self.mix[:, 1] > 0
        self.size = np.array([[[s[0] for s in w.sets] for w in workloads]])
        self.rate = np.array([[[s[1] for s in w.sets] for w in workloads]])
        self.seconds_form = np.array([w.form == "seconds" for w in workloads])
        self.log_work = np.log(self.number["work"][0])

    def __getitem__(self, name: str) -> Array:
        return self.number[name]


@dataclass(frozen=True)
class Demand:
    """Millions per unit of work, one column per workload."""

    fills: Array
    misses: Array
    stores: Array
    victims: Array
    victims_l2: Array


def miss_rate(mill: Mill, kb: Array, ways: Array, line: Array, shift: Array) -> Array:
    """Lines missing per 486 clock at that cache, shape (states, workloads). ``shift``: log of the sets."""
    steep = np.where(ways >= 4, 2.3, np.where(ways >= 2, 1.8, 1.35))
    held = (kb * np.exp(-shift))[:, :, None] / mill.size
    total = (mill.rate / (1.0 + held ** steep[:, :, None])).sum(axis=2)
    out: Array = total * (REFERENCE_LINE / line) ** mill["spatial"]
    return out


def demand(c: Columns, mill: Mill, placement: Array, combined: bool) -> Demand:
    """Traffic at the geometry of each state. ``placement`` is the boot's draw, in sds, a column."""
    work = mill["kcycles"]
    rate1 = miss_rate(mill, c.l1_kb, c.l1_ways, c.line, np.zeros_like(placement))
    # Fewer pages to a cache, more luck in where they fall: the sd shrinks with the root of the size.
    luck = PLACEMENT_SD * np.sqrt(128.0 / np.maximum(c.l2_kb, 64.0)) * placement + c.curve
    line2 = np.maximum(c.line, REFERENCE_LINE)
    rate2 = np.where(c.l2_kb > 0, miss_rate(mill, c.l2_kb, c.l2_ways, line2, luck), rate1)
    rate2 = np.minimum(rate2, rate1)
    rate2 = rate2 + c.uncached * mill["top"] * (rate1 - rate2)
    writes, miss, dirty = mill["stores"], mill["store_miss"], mill["dirty"]
    leaving = writes * np.where(c.l1_wb > 0, miss * (1.0 - 0.9 * c.alloc), 1.0)
    extra = c.l1_wb * c.alloc * writes * miss * 0.25  # several stores share the line they fetch
    rate1 = rate1 + extra
    rate2 = rate2 + extra * 0.4
    victims = c.l1_wb * dirty * rate1
    replaced = np.ones_like(dirty) if combined else dirty
    victims_l2 = np.where((c.l2_kb > 0) & (c.l2_wb > 0), rate2 * replaced * 0.9, 0.0)
    return Demand(work * rate1, work * rate2, work * leaving, work * victims, work * victims_l2)
