"""Exact inference by inclusion and exclusion over the positive findings: fast, and it says how much it cancels.

Cost grows with 2 to the number of positive findings; beyond about nine, or when the cancellation is felt,
``chain`` takes over, which has no subtraction. ``rows`` does the same for many further findings at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from leadoff.faults.evidence import Evidence
from leadoff.faults.network import Array, Network

EPSILON = float(np.finfo(np.float64).eps)
LIMIT = 1e-9
"""Relative rounding error beyond which the chain of ``chain.solve`` is used instead."""
RANK_LIMIT = 1e-6
"""The same for the results of tests, which only rank: the bound is far above the error that is found."""
MOST_PAIRS = 9
"""Positive findings beyond which the number of products outgrows the chain."""


@dataclass(frozen=True, eq=False)
class Answer:
    """``z``: chance of the findings. ``sole``: joint with "this fault alone causes the symptom, curing it
    removes it". ``blocks``: joint with "this fault causes it, alone or beside others". ``present``: joint with
    the fault. ``unlisted``: joint with "no fault of the tables causes it". ``error``: bound on the relative
    rounding error of z; ``cancels``: what it would be by products, infinite where they are too many."""

    z: float
    sole: Array
    blocks: Array
    present: Array
    error: float
    unlisted: float = 0.0
    cancels: float = 0.0


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


def solve(net: Network, ev: Evidence) -> Answer:
    """The exact answer over all sets of faults."""
    terms = expand(net, ev)
    coef, fault, w = weigh(net, terms, terms.tau)
    phi = terms.levels * fault[:, None, :]  # [T, L, n]
    on = net.single_p * phi[..., net.single]
    mix = (1 - net.single_p) + on
    parts, joint = state_mix(net, phi)
    a = np.multiply.reduce(mix, axis=-1) * np.multiply.reduce(joint, axis=-1)
    weighted = (coef[:, None] * w) * a * terms.leak  # [T, L]
    z = float(weighted.sum())
    sole_t, quiet, by_entry = sole_causes(
        net, terms, coef, fault, w, a[:, 0], mix[:, 0], joint[:, 0], phi[:, 0]
    )
    sole = sole_t.sum(axis=0)
    gain = ev.cures - ev.others
    total = ev.others * z + float(sole @ gain)
    present = np.zeros(phi.shape[-1])
    present[net.single] = ((weighted[..., None] / mix) * on).sum(axis=(0, 1))
    scaled = parts * (weighted[..., None] / joint)[..., net.joints.cluster]
    present = ev.others * (present + scaled.sum(axis=(0, 1)) @ net.joints.held)
    if gain.any():
        # With one cause j weighted by the swaps' results, the other faults may be present and silent.
        own = sole_t * gain
        present = present + own.sum(axis=0)
        apart = own.sum(axis=1)[:, None] - own - own @ net.joints.same
        present = present + (apart * quiet).sum(axis=0)
        present = present + (by_entry * gain[net.joints.entry_fault]).sum(axis=0) @ net.joints.entry_with
    blocks = ev.others * _blocks(net, weighted, phi, mix, parts, joint).sum(axis=0)
    scale = float(np.abs(weighted).sum()) * len(net.names) * EPSILON
    error = scale / abs(total) if total > 0 else float("inf")
    return Answer(
        z=total,
        sole=sole * ev.cures,
        blocks=blocks + gain * sole,
        present=present,
        error=error,
        cancels=error,
        unlisted=ev.others * float((coef[:, None] * w * a[:, :1] * terms.leak).sum()),
    )


def _blocks(net: Network, weighted: Array, phi: Array, mix: Array, parts: Array, joint: Array) -> Array:
    """Per term: joint with "fault i draws above nothing", the others as they may: [T, n]."""
    above = 1 - phi[:, :1, :] / np.where(phi > 0, phi, 1.0)  # share of i's factor that is a draw
    out = np.zeros((phi.shape[0], phi.shape[-1]))
    on = (weighted[..., None] / mix) * (net.single_p * phi[..., net.single]) * above[..., net.single]
    out[:, net.single] = on.sum(axis=1)
    scaled = parts * (weighted[..., None] / joint)[..., net.joints.cluster]
    out += ((scaled @ net.joints.held) * above).sum(axis=1)
    return out


def sole_causes(
    net: Network,
    terms: Terms,
    coef: Array,
    fault: Array,
    w: Array,
    a0: Array,
    mix0: Array,
    joint0: Array,
    phi0: Array,
) -> tuple[Array, Array, Array]:
    """Per term: weight with fault i the only cause [T, n], chance ratio that i is present but silent [T, n],
    and the first by joint state and member [T, entries]."""
    j = net.joints
    draw = (w @ (terms.levels - terms.levels[0])) * fault  # weight of a draw of i above nothing
    base = (coef * a0 * terms.leak[0])[:, None]
    ratio = net.single_p / mix0
    sole, quiet = np.zeros_like(fault), np.zeros_like(fault)
    sole[:, net.single] = base * draw[:, net.single] * ratio
    quiet[:, net.single] = phi0[:, net.single] * ratio
    wide = np.concatenate([phi0, np.ones((len(coef), 1))], axis=1)
    rest = j.entry_chance * np.multiply.reduce(wide[:, j.others], axis=-1) / joint0[:, j.entry_cluster]
    by_entry = base * draw[:, j.entry_fault] * rest
    sole += by_entry @ j.entry_is
    quiet += (rest * phi0[:, j.entry_fault]) @ j.entry_is
    return sole, quiet, by_entry
