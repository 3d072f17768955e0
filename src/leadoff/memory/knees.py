"""Levels of a sweep: an exact search over all ways to cut it into plateaus, with the noise integrated out.

Between two plateaus up to two points may lie on the slope. Every cut gets its probability: plateau heights are
integrated over (which charges each further level what the data do not ask for), noise over a grid. The sum over
all cuts is exact, by a forward and a backward pass over plateaus.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import comb, log
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from leadoff.memory.rows import rows

F64 = NDArray[np.float64]
HEIGHTS = 7.0
"""Extent of the prior of the first height, in logs: a factor of a thousand."""


class Cut(msgspec.Struct, frozen=True, kw_only=True):
    """The likeliest cut: plateaus as (first, last) indices, their chance, and the noise as a share.

    ``size_sure[k]``: chance that plateau ``k`` ends where it does, given the number of levels.
    """

    plateaus: tuple[tuple[int, int], ...]
    sure: float
    size_sure: tuple[float, ...]
    noise: float


def find_levels(size_kb: Sequence[float], us_per_kb: Sequence[float], weight: Sequence[int]) -> Cut:
    """Plateaus of times by rising size. ``weight`` counts the readings behind a point."""
    search = _Search(np.log2(np.asarray(size_kb)), np.log(np.asarray(us_per_kb)), np.asarray(weight, float))
    return search.best()


class _Search:
    def __init__(self, octave: F64, y: F64, weight: F64) -> None:
        row = rows("sweep")
        self.n = y.size
        self.octave, self.y = octave, y
        self.noise = np.array(row["noise"]["shares"])
        self.noise_prior = np.log(np.array(row["noise"]["weights"]) / sum(row["noise"]["weights"]))
        level = row["levels"]
        self.prior = np.log(np.array(level["prior"]) / sum(level["prior"]))
        self.low, self.high = np.log(level["smallest_step"]), np.log(level["largest_step"])
        self.slope = float(level["point_in_slope"])
        self.late = float(level["point_in_late_slope"])
        self.longest = int(level["longest_slope"])
        self.octaves = float(level["slope_octaves"])
        self.narrow = float(np.log(level["narrow_level"]))
        self.narrow_below = float(np.log2(level["narrow_below_kb"]))
        self._plateaus(weight)
        self.levels = min(len(self.prior), self.n)

    def _plateaus(self, w: F64) -> None:
        """Mean of every stretch a..b, and its log evidence by noise (noise, a, b)."""
        n, y = self.n, self.y
        sw, swy, swyy = (np.concatenate(([0.0], np.cumsum(v))) for v in (w, w * y, w * y * y))
        a, b = np.arange(n)[:, None], np.arange(n)[None, :]
        ok = a <= b
        total = np.where(ok, sw[b + 1] - sw[a], 1.0)
        self.mean = np.where(ok, (swy[b + 1] - swy[a]) / total, 0.0)
        spread = np.maximum(np.where(ok, swyy[b + 1] - swyy[a] - total * self.mean**2, 0.0), 0.0)
        count = np.where(ok, b - a + 1, 1)
        var = self.noise[:, None, None] ** 2
        log_weights = np.concatenate(([0.0], np.cumsum(np.log(w))))
        scale = -0.5 * count * np.log(2 * np.pi * var) + 0.5 * (log_weights[b + 1] - log_weights[a])
        height = 0.5 * np.log(2 * np.pi * var / total)
        stay = (count - 1) * np.log1p(-self.slope)
        self.single = np.where(ok, scale - 0.5 * spread / var + height + stay, -np.inf)

    def _step(self, b: int, slope: int) -> tuple[int, Any] | None:
        """Log weight (noise, a, d) of plateau a..b followed by a slope and plateau c..d; c with it."""
        c = b + 1 + slope
        if c >= self.n or (slope and self.octave[c - 1] - self.octave[b] > self.octaves):
            return None
        below, above = self.mean[: b + 1, b][:, None], self.mean[c, c:][None, :]
        rise = above - below
        between = np.ones_like(rise, dtype=bool)
        for i in range(b + 1, c):
            between &= (self.y[i] > below) & (self.y[i] < above)
        allowed = (rise >= self.low) & (rise <= self.high) & between
        safe = np.maximum(rise, self.low)
        log_w = -slope * np.log(safe) + np.log1p(-self.slope)
        for i in range(b + 1, c):
            # At twice its size a cache has missed all, unless pages lie scattered.
            within = self.octave[i] - np.floor(self.octave[b] + 1e-6) < 0.99
            log_w = log_w + np.log(self.slope if within else self.late)
        log_w = log_w - np.log(self.high - self.low)
        if self.octave[b] < self.narrow_below:
            # A middle level that ends at most twice as large as the one before it: a slope, not a cache.
            before = np.concatenate(([-np.inf], self.octave[:b]))
            log_w = log_w + np.where(self.octave[b] - before < 1.01, self.narrow, 0.0)[:, None]
        return c, np.where(allowed, log_w, -np.inf)

    def best(self) -> Cut:
        """The likeliest number of levels, then the likeliest cut into that many."""
        n, start = self.n, -np.log(HEIGHTS)
        steps = {
            (b, s): found for b in range(n) for s in range(self.longest + 1) if (found := self._step(b, s))
        }
        first = np.full_like(self.single, -np.inf)
        first[:, 0, :] = self.single[:, 0, :] + start
        forward = [first]
        for _ in range(1, self.levels):
            forward.append(self._forward(forward[-1], steps))
        evidence = np.array([_lse(f[:, :, n - 1], axis=1) for f in forward])  # (levels, noise)
        cuts = np.array([_log_choose(n - 1, k) for k in range(self.levels)])
        post = evidence + self.noise_prior[None, :] + (self.prior[: self.levels] - cuts)[:, None]
        post = np.exp(post - post.max())
        post /= post.sum()
        by_level = post.sum(axis=1)
        k = int(by_level.argmax())
        noise = int(post[k].argmax())
        plateaus, size_sure = self._trace(forward, steps, k, noise)
        return Cut(
            plateaus=plateaus,
            sure=float(by_level[k]),
            size_sure=size_sure,
            noise=float((post[k] @ self.noise) / by_level[k]),
        )

    def _forward(self, previous: F64, steps: dict[tuple[int, int], tuple[int, Any]]) -> F64:
        out = np.full_like(previous, -np.inf)
        for (b, _), (c, log_w) in steps.items():
            reach = _lse(previous[:, : b + 1, b, None] + log_w[None], axis=1)
            out[:, c, c:] = np.logaddexp(out[:, c, c:], reach + self.single[:, c, c:])
        return out

    def _trace(
        self, forward: list[F64], steps: dict[tuple[int, int], tuple[int, Any]], k: int, noise: int
    ) -> tuple[tuple[tuple[int, int], ...], tuple[float, ...]]:
        """From the last plateau back, the likeliest each time; the chance of each end among all."""
        n = self.n
        last = forward[k][noise, :, n - 1]
        a = int(last.argmax())
        plateaus = [(a, n - 1)]
        sure = [1.0]
        for level in range(k - 1, -1, -1):
            here = plateaus[0]
            weights: dict[tuple[int, int], float] = {}
            for (b, _), (c, log_w) in steps.items():
                if c == here[0]:
                    column = forward[level][noise, : b + 1, b] + log_w[:, here[1] - c]
                    for start in np.flatnonzero(np.isfinite(column)):
                        weights[(int(start), b)] = float(column[start])
            (best, _), total = (
                max(weights.items(), key=lambda kv: kv[1]),
                _lse(np.array(list(weights.values()))),
            )
            ends = _lse(np.array([v for key, v in weights.items() if key[1] == best[1]]))
            plateaus.insert(0, best)
            sure.insert(0, float(np.exp(ends - total)))
        starts = _lse(last)
        sure = [s * float(np.exp(last[a] - starts)) if i == k - 1 else s for i, s in enumerate(sure)]
        return tuple(plateaus), tuple(sure)


def _lse(x: Any, axis: int | None = None) -> Any:
    top = np.max(x, axis=axis, keepdims=True)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        out = np.log(np.sum(np.exp(x - top), axis=axis, keepdims=True)) + top
    return out.item() if axis is None else np.squeeze(out, axis=axis)


def _log_choose(n: int, k: int) -> float:
    return log(max(1, comb(n, k)))
