"""Profile families in the forecast: a workload starts as a mixture of them, and its runs move the weights.

Each family shifts the prior means of a workload's rates by how it differs from the middle of all by their odds,
shrunk by how badly profiles foretell a workload that they have not seen: band^2 / (band^2 + error^2). Where the error
is beyond the band less than half of the shift is left, so there the prior wins. What lies between the families is
taken out of the spread inside one: with the weights at their start the whole is as wide as the closed form's prior.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from leadoff.forecast.kinds import MIXED
from leadoff.forecast.normal import Vec
from leadoff.forecast.priors import prior
from leadoff.forecast.rows import group
from leadoff.forecast.terms import Arr
from leadoff.memory.demand import learn_weights

PARAMETERS: Mapping[str, str] = {
    "fills": "fills",
    "miss_share": "shift",
    "dirty": "dirty",
    "stores": "stores",
    "doubling": "slope",
}
"""The workload's parameter that each quantity of the table speaks of."""


class Families(NamedTuple):
    """``shift`` (families, quantities) of the means and ``inside``, the variance in a family, in prior deviations;
    ``start``: odds of the families before any run."""

    names: tuple[str, ...]
    shift: Arr
    inside: Vec
    start: Vec


class Lean(NamedTuple):
    """One workload under the families. ``weight`` (components, families): odds of each in a component; ``pull``: how
    each moves the workload's rates, times ``part`` of the covariance the whole; ``wide`` and ``inner`` take what the
    families are narrower by from a variance; ``factor`` (components): how much likelier the families make a component
    than the closed form does. ``odds``: of the families over all components; ``start``: before any run."""

    weight: Arr
    factor: Vec
    wide: Arr
    inner: Arr
    part: Arr
    pull: Arr
    odds: Mapping[str, float]
    start: Mapping[str, float]

    def of(self, jac: Arr) -> tuple[Arr, Vec]:
        """By how much each family moves the mean log time of an ask (components, families), and what its variance
        by parameters loses (components); ``jac``: derivatives of the ask (components, parameters)."""
        seen = np.einsum("ci,cij->cj", jac, self.wide)
        less = np.einsum("ci,cij,cj->c", seen, self.inner, seen)
        return np.einsum("ci,cij,chj->ch", jac, self.part, self.pull), less


@lru_cache(maxsize=8)
def families(kind: str = MIXED) -> Families:
    """The families of ``data/families.toml`` as priors of work of that kind."""
    told: dict[str, dict[str, float]] = {}
    for key, value in group("families", "family").items():
        name, quantity = key.split(".")
        told.setdefault(name, {})[quantity] = value
    error, band = group("families", "error"), group("families", "band")
    table = np.array([[row[q] for q in PARAMETERS] for row in told.values()])
    kept = np.array([band[q] ** 2 / (band[q] ** 2 + error[q] ** 2) for q in PARAMETERS])
    sds = np.array([prior("w", name, kind).sd for name in PARAMETERS.values()])
    start = _start(tuple(told), kind)
    shift = kept * (table - start @ table) / sds
    most = group("families", "most")["between"]
    shift *= np.minimum(1.0, np.sqrt(most / (start @ shift**2)))
    return Families(tuple(told), shift, 1.0 - start @ shift**2, start)


def _start(names: Sequence[str], kind: str) -> Vec:
    likelier = group("families", f"mix.{kind}")
    raw = np.array([likelier.get(n, 1.0) for n in names])
    return np.asarray(raw / raw.sum())


def lean(z: Arr, hessian: Arr, at: Sequence[int], kind: str, weights: Vec) -> Lean:
    """What the families make of one workload.

    ``z`` (components, parameters), ``hessian``: the normal posterior under the closed form's standard normal prior;
    ``at``: places of ``PARAMETERS`` of the workload; ``weights`` of the components. Exact for normals: the prior on
    these places is exchanged for each family's.
    """
    known = families(kind)
    places = np.asarray(at, dtype=np.intp)
    size = hessian.shape[1]
    unit = np.broadcast_to(np.eye(size)[:, places], (len(z), size, len(places)))
    wide: Arr = np.linalg.solve(hessian, unit).astype(np.float64)
    tight = np.diag(1.0 / known.inside - 1.0)
    # Precision grows on a few places only: the covariance by the matrix inversion lemma.
    grown = np.eye(len(places)) + tight @ wide[:, places]
    inner: Arr = np.linalg.solve(grown, np.broadcast_to(tight, grown.shape)).astype(np.float64)
    part = wide - wide @ inner @ wide[:, places]
    mean = z[:, places]
    off = mean[:, None, :] - known.shift
    pull = mean[:, None, :] - off / known.inside
    told = 0.5 * (mean**2).sum(axis=1)[:, None] - 0.5 * (off**2 / known.inside).sum(axis=2)
    told = told + 0.5 * np.einsum("chi,cij,chj->ch", pull, part[:, places], pull)
    told = told - 0.5 * np.linalg.slogdet(grown)[1][:, None]
    both = told + np.log(known.start)
    start = dict(zip(known.names, map(float, known.start), strict=True))
    top = both.max(axis=1, keepdims=True)
    odds = np.exp(both - top)
    whole = np.log(np.maximum(weights @ np.exp(told - told.max()), 1e-300))
    return Lean(
        weight=odds / odds.sum(axis=1, keepdims=True),
        factor=np.exp(top[:, 0] - top.max()) * odds.sum(axis=1),
        wide=wide,
        inner=inner,
        part=part,
        pull=pull,
        odds=learn_weights(start, dict(zip(known.names, map(float, whole), strict=True))),
        start=start,
    )
