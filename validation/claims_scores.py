"""Time of one frame by rules of data sheets, for ten-year books: nothing here shares the forecast's formula.

Line fills by page hit, row miss and bank miss (clocks as boards of the time set them: common practice, no source),
stores through a queue served one at a time (``leadoff.validation.storequeue``, event by event), refresh every 15.6 us
(data sheets of page-mode memory, from memory), a display card that exposes its own nanoseconds or two bus clocks,
page placement once for each boot. All figures of the workload are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leadoff.validation.storequeue import backlog, stall

PLACEMENT_SD = 0.035  # log of the misses from boot to boot
REFRESH_US, REFRESH_CLOCKS = 15.6, 9.0
Array = NDArray[np.float64]
DEPTH, CLUSTERED = 4.0, np.array([[0.7]])


@dataclass(frozen=True)
class Work:
    """What one frame asks for: thousands of core clocks, line fills, stores, writes to the card."""

    kcycles: float
    kfills: float
    kstores: float
    kvideo: float
    l2_miss: float


def work(rng: np.random.Generator) -> Work:
    """One invented workload."""
    return Work(
        kcycles=float(rng.uniform(450.0, 800.0)),
        kfills=float(rng.uniform(18.0, 32.0)),
        kstores=float(rng.uniform(40.0, 70.0)),
        kvideo=float(rng.uniform(9.0, 14.0)),
        l2_miss=float(rng.uniform(0.08, 0.14)),
    )


def frames_ms(w: Work, bus: Array, ratio: Array, waits: Array, card_ns: Array, placement: Array) -> Array:
    """Milliseconds for one frame, many states at once, all as flat arrays: bus clocks in MHz, ``placement`` in
    standard deviations of the boot."""
    core = w.kcycles / (bus * ratio)
    miss = w.l2_miss * np.exp(PLACEMENT_SD * placement)
    memory = 0.55 * (9.0 + 4.0 * waits) + 0.30 * (13.0 + 4.0 * waits) + 0.15 * (16.0 + 4.0 * waits)
    edge = (ratio - 1.0) / (2.0 * ratio)  # a request waits for the next edge of the bus
    fills = w.kfills * ((1.0 - miss) * 5.0 + miss * memory + edge) / bus
    video = w.kvideo * np.maximum(2.0 / bus, card_ns * 1e-3)
    service = (2.0 + 0.5 * waits) / bus  # us for one store
    depth = np.full((len(bus), 1), DEPTH)
    total: Array = core + fills + video
    for _ in range(4):
        gap = total / w.kstores
        load = (service / gap)[:, None]
        waiting = stall(load, depth, CLUSTERED)[:, 0] * gap * w.kstores
        before_fills = 0.3 * backlog(load, depth, CLUSTERED)[:, 0] * gap * w.kfills * miss
        total = core + fills + video + waiting + before_fills
    return total / (1.0 - REFRESH_CLOCKS / bus / REFRESH_US)
