"""What is known of the limits of a board's paths before any run, and of accidents that no limit explains.

Each limit is a log load, on a grid: a normal about what silicon of the trade does above its reference (scatter
widened, see the rows), except that what is sold for a rating carries it, but for the share ``inside`` of the row. A
reference that had to be assumed widens both sides and moves nothing across: not knowing a grade makes an overclock
less certain, and the rated clock no risk. Accidents are a rate by attempt, the same in every state: a healthy
board's, or an ill one's.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.normal import Vec, ndtr
from leadoff.forecast.rows import group, values

_NODES = 121
"""Places on the axis of a limit."""
_REACH = 3.6
"""How far that axis goes to each side, in standard deviations of the limit; .03 % lies beyond."""
_RATES = 41
"""Places on the axis of the rate of accidents."""


def margin(path: str) -> Mapping[str, float]:
    """How far a path goes above its reference, its scatter, the guard above the reference that a rating includes and
    the share that fails inside: by the first word of its name."""
    return group("hold", f"margin.{path.partition(' ')[0]}")


@lru_cache(maxsize=256)
def limits(path: str, doubt: float) -> tuple[Vec, Vec]:
    """Nodes of the log limit of a path and their weights."""
    row = margin(path)
    sd = float(np.hypot(row["sd"] * values("hold")["widen"], doubt))
    z = np.linspace(-_REACH, _REACH, _NODES)
    weight = np.diff(np.concatenate([[0.0], ndtr(0.5 * (z[1:] + z[:-1])), [1.0]]))
    nodes = row["centre"] + sd * z
    inside = nodes < row["guard"]
    share = float(weight[inside].sum())
    kept = min(share, row["inside"])
    weight = np.where(inside, weight * kept / max(share, 1e-300), weight * (1.0 - kept) / (1.0 - share))
    return nodes, weight


@lru_cache(maxsize=1)
def accidents() -> tuple[Vec, Vec]:
    """Rates of failures by attempt that no limit explains, and their weights: a healthy board's about ``rate``, as an
    exponential; an ill one's anywhere between ``least`` and ``most``, as its log."""
    row = group("hold", "accident")
    rate = np.exp(np.linspace(np.log(0.02 * row["rate"]), np.log(row["most"]), _RATES))
    cuts = np.concatenate([[0.0], np.sqrt(rate[1:] * rate[:-1]), [np.inf]])
    healthy = -np.diff(np.exp(-cuts / row["rate"]))
    ill = np.where(rate >= row["least"], 1.0, 0.0)
    return rate, (1.0 - row["ill"]) * healthy + row["ill"] * ill / ill.sum()


def log_steps(nodes: Vec, log_load: float) -> Vec:
    """Log chance that a path with its limit at each node carries the load for one attempt."""
    # A grid coarser than the flaky zone would make the chance a staircase: the step is at least as soft.
    softness = max(values("hold")["softness"], 0.5 * float(nodes[1] - nodes[0]))
    return _cached_steps(float(nodes[0]), float(nodes[1] - nodes[0]), log_load, softness)


@lru_cache(maxsize=8192)
def _cached_steps(first: float, step: float, log_load: float, softness: float) -> NDArray[np.float64]:
    nodes = first + step * np.arange(_NODES)
    # Logistic steps cost a tenth of normal ones; 1.702 makes the two agree within a hundredth.
    return np.asarray(-np.logaddexp(0.0, -1.702 * (nodes - log_load) / softness))
