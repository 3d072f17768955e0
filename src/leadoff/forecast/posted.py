"""Stores that leave the processor: what shows of them behind the write buffer, with its exact derivatives.

A buffer of some entries hides stores until more of them come close together than it holds; how often that happens
falls off exponentially with entries over load, as queues overflow. A line fill waits for the stores before it. Both
show the sooner the more of the core's own time the bus needs for its stores.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.rows import group

Arr = NDArray[np.float64]


class Posted(NamedTuple):
    """Time of stores, the parts of it, and how it moves.

    ``full``: where the buffer is full; ``behind``: fills that wait; ``by_load``: derivative by the log of the load;
    ``through``, ``naked``, ``missing``: derivatives by the log of what a write-through second level passes on, of a
    store to memory, and by the logit of the share of stores that miss; ``by_missed``: by the share of fills that do.
    """

    time: Arr
    full: Arr
    behind: Arr
    by_load: Arr
    through: Arr
    naked: Arr
    missing: Arr
    by_missed: Arr


@lru_cache(maxsize=1)
def _rows() -> Mapping[str, float]:
    return group("geometry", "posted")


def posted(
    p: Mapping[str, Arr], f: Mapping[str, Arr], leaving: Arr, fills: Arr, missed: Arr, core: Arr
) -> Posted:
    """``leaving``: stores, ``fills``: line fills (or reads without first-level cache), both millions a unit of work;
    ``missed``: share of fills that the second level does not hold; ``core``: seconds of the core's own clocks."""
    row, outer = _rows(), f["outer"]
    # A store that misses goes to memory: a second level on a board makes no room for it.
    level = 1.0 / (1.0 + np.exp(-p["s.missing"]))
    past = np.where(outer > 0.0, level * missed, 1.0)
    in_memory = np.exp(p["s.naked"]) * f["store_memory"]
    passed = np.exp(p["s.through"] + p["k.through"]) * f["store_through"]
    cost = (1.0 - past) * (f["store"] + passed) + past * in_memory
    service = cost / f["f_bus"]
    load = np.maximum(leaving * service / core, 1e-9)
    soon = np.exp(-p["s.expose"] - p["c.expose"])
    queue, wait = row["queue"] * f["buffers"] * soon / load, row["wait"] * soon / load
    drained = np.where(f["wb"] > 0.0, np.exp(p["s.drained"]), 1.0)
    full = service * row["stalled"] * leaving * np.exp(-queue)
    behind = service * np.exp(p["s.behind"]) * np.sqrt(f["buffers"]) * drained * fills * np.exp(-wait)
    time = full + behind
    by_load = full * queue + behind * wait
    by_cost = (time + by_load) / np.maximum(cost, 1e-12)
    by_past = outer * by_cost * (in_memory - f["store"] - passed)
    return Posted(
        time=time,
        full=full,
        behind=behind,
        by_load=by_load,
        through=by_cost * (1.0 - past) * passed,
        naked=by_cost * past * in_memory,
        missing=by_past * past * (1.0 - level),
        by_missed=by_past * level,
    )
