"""A write buffer as a queue, run event by event: stores come in runs, the bus serves one at a time.

The processor stalls when all entries are taken, and a line fill must wait for the stores before it. In units
of the mean time between stores, both depend only on the load (service time over mean gap), the number of
entries and how the stores cluster. Runs: 70 % of writes follow another one directly, half come in runs of
three or more (source: Intel embedded 486 hardware reference manual, 1997, p. 145, read).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DEPTHS = (1, 2, 4, 8)
LOADS: Array = np.concatenate(([0.0], np.geomspace(0.01, 12.0, 47)))
_STORES = 6000
_NEXT_TO = 0.70  # share of stores that follow another directly
_CLOSE = 0.08  # gap inside a run over the mean gap


def _gaps(clustered: bool) -> Array:
    rng = np.random.Generator(np.random.PCG64(7_311))
    if not clustered:
        gaps = rng.exponential(1.0, _STORES)
    else:
        far = (1.0 - _NEXT_TO * _CLOSE) / (1.0 - _NEXT_TO)
        gaps = np.where(rng.random(_STORES) < _NEXT_TO, _CLOSE, rng.exponential(far, _STORES))
    scaled: Array = gaps / gaps.mean()
    return scaled


@lru_cache(maxsize=1)
def tables() -> tuple[Array, Array]:
    """Stall per store, and work still queued when a fill comes, over the mean gap.

    Both clustered no/yes x depth x load.
    """
    out = np.zeros((2, 2, len(DEPTHS), len(LOADS)))
    deepest = max(DEPTHS)
    pick, row = np.array(DEPTHS) - 1, np.arange(len(DEPTHS))
    for kind in (0, 1):
        gaps = _gaps(bool(kind))
        lanes = (len(DEPTHS), len(LOADS))
        done = np.zeros((deepest, *lanes))  # completion times, newest first
        issued, stalled, queued = np.zeros(lanes), np.zeros(lanes), np.zeros(lanes)
        for gap in gaps:
            ready = issued + gap
            issued = np.maximum(ready, done[pick, row, :])
            stalled += issued - ready
            finish = np.maximum(issued, done[0]) + LOADS
            done[1:] = done[:-1]
            done[0] = finish
            # A miss falls anywhere between stores; a short moment after this one stands for all.
            queued += np.maximum(finish - issued - 0.5 * gap, 0.0)
        out[0, kind], out[1, kind] = stalled / len(gaps), queued / len(gaps)
    return out[0], out[1]


def stall(load: Array, depth: Array, clustered: Array) -> Array:
    """Stall per store in mean gaps at that load; between no runs and runs by weight.

    ``load``: (states, workloads); ``depth``: a column; ``clustered``: a row. Linear beyond the table's end,
    where the bus is the bottleneck and nothing else matters.
    """
    beyond: Array = np.maximum(load - LOADS[-1], 0.0)
    return _read(tables()[0], load, depth, clustered) + beyond


def backlog(load: Array, depth: Array, clustered: Array) -> Array:
    """Work queued before a line fill, in mean gaps; shapes as for ``stall``."""
    return _read(tables()[1], load, depth, clustered)


def _read(table: Array, load: Array, depth: Array, clustered: Array) -> Array:
    out = np.empty(load.shape)
    for d in sorted(set(depth[:, 0].tolist())):
        i = DEPTHS.index(int(d))
        at = depth[:, 0] == d
        x = load if at.all() else load[at]
        plain = np.interp(x, LOADS, table[0, i])
        runs = np.interp(x, LOADS, table[1, i])
        out[at] = plain + clustered * (runs - plain)
    return out
