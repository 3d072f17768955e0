"""Inclusion and exclusion over the positive findings: the signed products, and the answer that is made of them.

Cost grows with 2 to the number of positive findings; beyond about nine, or when the cancellation is felt,
``chain`` takes over, which has no subtraction. ``posterior`` sums the products for one set of findings, ``rows``
for many further findings at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from leadoff.faults.evidence import Evidence
from leadoff.faults.network import Array, Network
from leadoff.record.tables import limit

EPSILON = float(np.finfo(np.float64).eps)
LIMIT = limit("faults", "rounding")
"""Relative rounding error beyond which the chain of ``chain.solve`` is used instead."""
RANK_LIMIT = limit("faults", "rounding_ranked")
"""The same for the results of tests, which only rank: the estimate is far above the error that is found."""
MOST_PAIRS = limit("faults", "pairs")
"""Positive findings beyond which the number of products outgrows the chain."""
MOST_RANKED = limit("faults", "pairs_ranked")
"""The same for the results of all open tests at once."""


@dataclass(frozen=True, eq=False)
class Answer:
    """``z``: chance of the findings. ``sole``: joint with "this fault alone causes the symptom, curing it
    removes it". ``blocks``: joint with "this fault causes it, alone or beside others". ``present``: joint with
    the fault. ``unlisted``: joint with "no fault of the tables causes it". ``error``: how far rounding may have
    moved z, relative, with a margin; ``cancels``: what it would be by products, infinite where they are too many.
    ``by_stage``: works out the joint with each stage of the start, where the method can."""

    z: float
    sole: Array
    blocks: Array
    present: Array
    error: float
    unlisted: float = 0.0
    cancels: float = 0.0
    by_stage: Callable[[], Array] | None = None


@dataclass(frozen=True, eq=False)
class Terms:
    """The signed products: ``coef`` [T], ``fault`` [T, n], ``tau`` [T, stages], and the symptom's levels."""

    coef: Array
    fault: Array
    tau: Array
    levels: Array  # [L, n] cumulative draws of the symptom
    leak: Array  # [L]
    target: bool


def expand(net: Network, ev: Evidence) -> Terms:
    """All 2^pairs products of the evidence."""
    coef, fault, tau = np.ones(1), ev.fault[None, :], ev.stage[None, :]
    for p in ev.pairs:
        coef = np.concatenate([coef, -coef])
        fault = np.concatenate([fault * p.hi, fault * p.lo])
        tau = np.concatenate([tau * p.hi_stage, tau * p.lo_stage])
    if ev.target is None:
        return Terms(coef, fault, tau, net.stage, net.stage_leak, target=False)
    levels = np.stack([ev.target.lo, ev.target.hi])
    # A target that leaks by stage would tie the two node levels together; the loader of words never asks for one.
    leak = np.array([ev.target.lo_stage[0], ev.target.hi_stage[0]])
    return Terms(coef, fault, tau, levels, leak, target=True)


def abel(tau: Array) -> Array:
    """Weights on the cumulative products: sum of (A_s - A_{s-1}) tau_s = sum of A_s (tau_s - tau_{s+1})."""
    return np.asarray(tau - np.concatenate([tau[..., 1:], np.zeros_like(tau[..., :1])], axis=-1))


def weigh(net: Network, terms: Terms, tau: Array) -> tuple[Array, Array, Array]:
    """Coefficients [T'], fault factors [T', n] and level weights [T', L], for stage factors ``tau``.

    When the symptom is a reading, the stage is summed out first: each of its levels becomes a term.
    """
    if not terms.target:
        return terms.coef, terms.fault, abel(tau)
    weights = abel(tau) * net.stage_leak
    coef = (terms.coef[:, None] * weights).ravel()
    fault = (terms.fault[:, None, :] * net.stage).reshape(len(coef), -1)
    return coef, fault, np.broadcast_to(np.array([-1.0, 1.0]), (len(coef), 2))


def state_mix(net: Network, phi: Array) -> tuple[Array, Array]:
    """For joint clusters: state weights [..., states] and their sums [..., clusters], factors phi [..., n]."""
    j = net.joints
    wide = np.concatenate([phi, np.ones_like(phi[..., :1])], axis=-1)
    parts = j.chance * np.multiply.reduce(wide[..., j.members], axis=-1)
    return parts, np.add.reduceat(parts, j.start, axis=-1)
